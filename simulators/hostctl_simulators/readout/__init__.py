"""The indicator's own electronics: the lines it sends, and a cable that types."""
