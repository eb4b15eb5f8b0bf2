"""What is asked about a machine before it moves, section by section."""
