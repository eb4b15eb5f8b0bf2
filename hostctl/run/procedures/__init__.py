"""What a study of each kind does next, given all that happened: one file a kind."""
