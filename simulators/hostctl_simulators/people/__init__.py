"""Simulated people: what they are asked, what their hands can do, and how they are reached."""
