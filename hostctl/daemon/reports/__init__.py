"""A run's report, made by a program beside the daemon, and the folder where reports are kept."""
