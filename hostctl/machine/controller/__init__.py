"""What goes to one controller and comes back: its line, orders, troubles, a job of its own."""
