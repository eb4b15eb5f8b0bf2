"""One machine looked after: its line, what it shows of itself, and the runs asked for."""
