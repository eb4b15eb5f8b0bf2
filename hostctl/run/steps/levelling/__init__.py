"""Levelling, as people are told: which screw, how far, and what the indicator shows meanwhile."""
