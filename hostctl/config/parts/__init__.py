"""Sections that study and machine files have, each in a file of its own."""
