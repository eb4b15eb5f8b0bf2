"""Of a bed and an axis: planes, flatness, and how true an axis moves."""
