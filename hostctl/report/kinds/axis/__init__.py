"""How true an axis moves (ISO 230-2): result and document."""
