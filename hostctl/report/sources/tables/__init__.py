"""Readings out of a table: CSV, its columns, numbers and title found."""
