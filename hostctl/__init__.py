"""Measures how repeatable a way of setting the gap between nozzle and bed really is.

From Python: `analyse`, `plan`, `budget`, `history` answer the questions of the commands of these
names, `open_database` gives what was recorded. See `hostctl.notebook.questions`.
"""

TYPE_CHECKING = False  # as typing's, which `hostctl --help` does not load
if TYPE_CHECKING:
    from typing import Any

    from hostctl.notebook.questions import analyse, budget, history, plan
    from hostctl.notebook.recorded import open_database

__all__ = ["analyse", "budget", "history", "open_database", "plan"]


def __getattr__(name: str) -> "Any":
    """Loaded only when asked for: the commands need no more than their own rooms."""
    if name not in __all__:
        raise AttributeError(f"module 'hostctl' has no attribute {name!r}")
    from hostctl.notebook import questions

    return getattr(questions, name)
