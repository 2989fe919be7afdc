"""What runs beside the tests: the site, workers, a browser."""
