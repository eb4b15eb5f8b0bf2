"""A gauge comparison found, out of a run's readings."""
