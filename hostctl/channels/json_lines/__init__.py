"""Prompts and answers as JSON, one object a line, for other programs."""
