"""Who may start from afar, and for how long."""
