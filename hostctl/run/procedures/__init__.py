"""What a study does next, given all that happened, and how a step goes."""
