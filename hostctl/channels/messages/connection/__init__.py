"""The connections to the broker: made, watched, kept and made anew."""
