"""Is the rig still what it was: result and document."""
