"""What is useful next: decided from what was just done and what it found, never from its words."""
