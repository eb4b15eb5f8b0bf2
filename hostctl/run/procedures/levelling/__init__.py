"""A levelling: its rounds in blocks and trials, what is safe, and what its readings decide."""
