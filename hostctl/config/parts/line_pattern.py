"""A user's pattern for the lines of an indicator: a regular expression that can't take long.

Each repeat takes all it can and never gives anything back (possessive, as Python's `re` has it
from 3.11), so that no line, whatever is in it, is gone through in more than a few thousand steps.
"""

import re

LONGEST_PATTERN = 100
MOST_ALTERNATIVES = 4

_PARTS = re.compile(
    r"""(?P<repeat>[*+?]|\{(?:\d+(?:,\d*)?|,\d*)\})(?P<how>[+?]?)
    | (?P<group>\((?:\?:|\?P<\w+>|(?!\?)))
    | (?P<either>\|)
    | \\[^0-9]
    | \[\^?\]?(?:\\.|[^\]\\])*\]
    | (?P<any>\.(?=[*+]|\{\d*,))
    | [^\\\[(]""",
    re.VERBOSE | re.DOTALL,
)


def line_pattern(text: str) -> re.Pattern[str]:
    """The pattern, to be searched for in a line; `number_of` finds its number.

    Raises ValueError that says what is wrong with it.
    """
    if len(text) > LONGEST_PATTERN:
        raise ValueError(f"is longer than {LONGEST_PATTERN} letters")
    try:
        re.compile(text, re.ASCII)
    except (re.error, RecursionError, OverflowError) as cause:
        raise ValueError(f"is no regular expression: {cause}") from None
    try:
        pattern = re.compile(_giving_nothing_back(text), re.ASCII)
    except re.error as cause:
        raise ValueError(f"holds more than plain groups, classes and repeats: {cause}") from None
    if "number" not in pattern.groupindex and pattern.groups != 1:
        raise ValueError(
            f"has {pattern.groups} groups, and one is needed that holds the number: put that in "
            "( ), other groups in (?: ), or call it (?P<number> )"
        )
    return pattern


def found_by(pattern: re.Pattern[str], line: str) -> str | None:
    """What stands in `line` where the pattern has its number; None where it does not fit."""
    match = pattern.search(line)
    if match is None:
        return None
    return match["number"] if "number" in pattern.groupindex else match[1]


def _giving_nothing_back(text: str) -> str:
    """The same with possessive repeats. Raises ValueError for what can't be written so."""
    parts, at, alternatives = [], 0, 0
    while at < len(text):
        part = _PARTS.match(text, at)
        if part is None:
            raise ValueError(f"holds more than plain groups, classes and repeats: '{text[at:]}'")
        if part["any"]:
            raise ValueError(
                "has '.' repeated: it is looked for within the line, so leave that out"
            )
        if part["how"] == "?":
            raise ValueError("has a repeat that takes as little as it can: each takes all it can")
        alternatives += part["either"] is not None
        parts.append(f"{part['repeat']}+" if part["repeat"] else part[0])
        at = part.end()
    if alternatives > MOST_ALTERNATIVES:
        raise ValueError(f"has more than {MOST_ALTERNATIVES} alternatives")
    return "".join(parts)
