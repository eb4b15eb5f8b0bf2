"""How scores of rounded readings are distributed: three moments, tabulated, and tails by them."""
