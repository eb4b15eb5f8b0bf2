"""An uncertainty budget, by the law of propagation and by Monte Carlo."""
