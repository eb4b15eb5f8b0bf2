"""Sentences broken into lines of a readable length."""

import textwrap

WIDTH = 78


def wrapped(text: str, *, first: str = "") -> str:
    """The text in lines of at most WIDTH; `first` begins the first, the others stand under it."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_on_hyphens=False,
    )
