"""One printer in the job's words: homing, moves, probing and heat inside a safe envelope."""
