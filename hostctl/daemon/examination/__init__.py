"""What `doctor` looks at: serial port, broker, page."""
