"""Words as HTML: whatever a name holds comes out as text, and turns nothing around it."""

import re
from html import escape

INSTEAD = "\N{REPLACEMENT CHARACTER}"

_NEVER_SHOWN = re.compile(
    "["
    "\x00-\x08\x0b\x0e-\x1f\x7f-\x9f"  # controls that HTML forbids; white space is kept
    "\u202a-\u202e\u2066-\u2069"  # what turns the direction of all that follows (Unicode UAX 9)
    "\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff"  # halves of characters, and no characters
    "]"
)
_RIGHT_TO_LEFT = "\u0590-\u08ff\ufb1d-\ufdff\ufe70-\ufefc\U00010800-\U00010fff\U0001e800-\U0001efff"
_RUN = re.compile(rf"[\u200f{_RIGHT_TO_LEFT}](?:[^\w\n]*[\u200f{_RIGHT_TO_LEFT}])*")
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|mm\b|°C))")


def words(text: str) -> str:
    """The text for a place between tags. What is written from right to left is set apart, so that
    the numbers after it stay in their order; a number and its unit stay on one line."""
    kept = _BEFORE_UNIT.sub("\N{NO-BREAK SPACE}", in_attribute(text))
    return _RUN.sub(r"<bdi>\g<0></bdi>", kept)


def in_attribute(text: str) -> str:
    """The text for a quoted attribute, or an element that holds text alone."""
    return escape(_NEVER_SHOWN.sub(INSTEAD, text))
