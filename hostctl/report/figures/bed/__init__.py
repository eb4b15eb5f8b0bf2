"""Figures of a bed: its plan with heights and screws, and how its tilt went from round to round."""
