"""Where a machine stands, brought to every phone that looks."""
