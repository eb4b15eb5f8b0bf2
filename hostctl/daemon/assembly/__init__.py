"""The parts of a run put together from checked files, for `hostctl run` and the daemon alike."""
