"""The published staff-scheduling instances: read, solved by the builder, written, and counted again."""
