"""A tie carried out: blades, touches, what is asked meanwhile, and what breaks it."""
