"""An axis test found: from a run's readings, or from a table of positions."""
