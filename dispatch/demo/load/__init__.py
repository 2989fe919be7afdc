"""Writing the demo practice and its evening into the database, through the services."""
