"""How far two gauges differ at one place: result and document."""
