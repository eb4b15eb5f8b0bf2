"""SQLite: runs, readings, marks, events. Nothing is ever overwritten."""
