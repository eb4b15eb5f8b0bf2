"""One serial line: bytes, acknowledgements, deadlines, reconnecting, a timed wire log."""
