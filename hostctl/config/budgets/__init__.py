"""The budget file, and what it may hold."""
