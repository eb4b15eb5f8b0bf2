"""Readings rounded to a graduation: what can still be said of their spread."""
