"""How many trials does it take: result and document."""
