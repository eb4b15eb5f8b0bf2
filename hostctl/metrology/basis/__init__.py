"""What the other wings stand on: results and reasons, distributions, roots, ranks, exact sums."""
