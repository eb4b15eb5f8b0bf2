"""What the other wings stand on: types, distributions, roots, ranks, exact sums."""
