"""One file a kind of study."""
