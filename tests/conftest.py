"""Hypothesis draws the same examples on every machine, and a slow machine fails none of them."""

from hypothesis import settings

settings.register_profile("repeatable", derandomize=True, deadline=None, max_examples=150)
settings.load_profile("repeatable")
