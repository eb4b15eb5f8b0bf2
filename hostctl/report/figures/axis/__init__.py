"""Figures of an axis: deviations at its targets, from either side."""
