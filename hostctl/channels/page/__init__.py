"""The phone page: one small web server for all machines of the daemon, and the page it serves."""
