"""How a station stands: one frozen view of it, which every channel shows."""
