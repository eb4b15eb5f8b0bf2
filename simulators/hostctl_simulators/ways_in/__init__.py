"""The printer's cable: in this process by its url, a pseudo-terminal, a TCP port."""
