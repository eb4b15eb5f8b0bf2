"""Readings on a grid, the score of a spread that they give, and how that score is distributed."""
