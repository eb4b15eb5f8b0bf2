"""Is the bed level, what is to be turned, and what no screw can mend: result and document."""
