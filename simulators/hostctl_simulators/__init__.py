"""A simulated printer, hard to tell from a real one, and the people who stand at it.

Three ways to it: `sim://NAME?seed=…` in process (`ways_in/port.py`), a pseudo-terminal and a TCP
port (`python -m hostctl_simulators printer`). Tests and people find the physical side of a `sim://`
printer by `find_world`, and the board, its log and its fault counts by `find_printer`.
"""

from hostctl_simulators.registry import find_printer, find_world, forget_printers

__all__ = ["find_printer", "find_world", "forget_printers"]
