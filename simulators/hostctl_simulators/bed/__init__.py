"""The bed: its plate, the screws it stands on, and its heat."""
