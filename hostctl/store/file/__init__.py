"""The database as a file: opened, watched, its schema, who records."""
