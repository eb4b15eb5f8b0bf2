"""The spread of one block or method, and what the rig has in it."""
