"""How far off the gap is that was wanted: the tie behind it, and what each method comes to."""
