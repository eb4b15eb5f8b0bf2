"""Kinds of study whose runs have a result of their own: one wing each, and the door to them."""
