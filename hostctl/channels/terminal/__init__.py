"""The terminal: a full screen, or plain lines where there is none."""
