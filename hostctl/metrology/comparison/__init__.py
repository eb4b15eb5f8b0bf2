"""Is one better than another: spreads, means, and whether hands matter."""
