"""The result of a probe loop, from its run's readings, events and decisions."""
