"""The maths of repeatability: pure functions on arrays, typed results, a source beside each."""
