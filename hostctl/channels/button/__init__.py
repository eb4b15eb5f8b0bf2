"""Hands on keys: a GPIO button, a keyboard or number pad, and what counts as a press."""
