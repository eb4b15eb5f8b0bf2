"""Sentences broken into lines of a readable length; a number stays beside its unit."""

import re
import textwrap

WIDTH = 78


def wrapped(text: str, *, first: str = "") -> str:
    """The text in lines of at most WIDTH; `first` begins the first, the others stand under it."""
    kept = re.sub(r"(?<=\d) (?=(%|mm)(\W|$))", "\xa0", text)
    filled = textwrap.fill(
        kept,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first),
        break_on_hyphens=False,
    )
    return filled.replace("\xa0", " ")
