"""The terminal beside the machine, line by line: what is shown, and what counts as typed."""
