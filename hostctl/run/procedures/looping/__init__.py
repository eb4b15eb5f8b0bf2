"""What a probe loop goes by: its order, its stretches, its looks and limits."""
