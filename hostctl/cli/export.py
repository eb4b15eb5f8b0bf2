"""`hostctl export RUN`: its readings for other programs."""
