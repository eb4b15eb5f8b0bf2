"""The local socket: what is asked, what comes back, what is refused."""
