"""The questions of the command line asked from Python, for notebooks and scripts."""
