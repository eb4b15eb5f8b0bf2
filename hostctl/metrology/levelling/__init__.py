"""Levelling a bed by its screws: heights of a round, advice, what turning did, how it stands."""
