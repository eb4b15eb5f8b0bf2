"""The daemon's log: one line an event."""
