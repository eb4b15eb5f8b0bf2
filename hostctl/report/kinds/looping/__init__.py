"""What a probe loop found: how finely the probe repeats, and whether it drifts."""
