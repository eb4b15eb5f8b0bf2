"""How far do the settings scatter, and is that good enough: result and document."""
