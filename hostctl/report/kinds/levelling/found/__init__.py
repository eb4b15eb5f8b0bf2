"""From what was read and decided, or a table of heights, to the result."""
