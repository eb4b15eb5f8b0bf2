"""Gauges: one reading from one source."""
