"""What a controller says of its inputs (M119), however its board words it. Pure.

z_min: TRIGGERED          one a line
x:open y:open z:TRIGGERED several on a line, their names of one word each
Z probe = not triggered   names and words may have blanks where a line has one input
"""

import re
from collections.abc import Iterable, Mapping

_ONE = re.compile(r"\W*([^\W_][^:=]*?)\s*[:=]\s*([^:=]+?)\W*$")
_SEVERAL = re.compile(r"([^\W_][\w-]*)\s*[:=]\s*([\w-]+(?:\s+[\w-]+(?!\S*\s*[:=]))*)")


def inputs_in(texts: Iterable[str]) -> Mapping[str, str]:
    """Name to word, both in lower case; one that is named twice with two words is left out."""
    said: dict[str, set[str]] = {}
    for text in texts:
        alone = _ONE.match(text)
        for name, word in [alone.groups()] if alone else _SEVERAL.findall(text):
            said.setdefault(_tidy(name), set()).add(_tidy(word))
    return {name: words.pop() for name, words in said.items() if len(words) == 1}


def _tidy(text: str) -> str:
    return " ".join(text.lower().split())
