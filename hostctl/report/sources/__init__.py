"""Where readings come from: recorded runs and tables."""
