"""Sums behind a result, and what readings say of themselves."""
