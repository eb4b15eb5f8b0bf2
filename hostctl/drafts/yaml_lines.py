"""Lines of a YAML file as a person writes them: remarks in one column, long texts folded."""

import json
import re
import textwrap

COLUMN = 26
"""Where remarks begin, as in the files that are shipped."""
WIDEST = 110
_WORDS_OF_YAML = ("true", "false", "null")


def plain(text: str) -> str:
    """A text as a value: bare where YAML takes it for text and nothing else, else in quotes."""
    bare = re.fullmatch(r"[A-Za-z/][A-Za-z0-9_ ,.;()/+'-]*", text) is not None
    if bare and not text.endswith(" ") and text.lower() not in _WORDS_OF_YAML:
        return text
    return json.dumps(text, ensure_ascii=False)


def with_remark(code: str, remark: str) -> str:
    """A line with its remark, in the usual column where there is room before it."""
    gap = " " if len(code) < COLUMN else "   "
    return f"{code:<{COLUMN - 1}}{gap}# {remark}\n"


def folded(key: str, text: str) -> str:
    """A text behind its key (which ends with a colon and a space), on several lines where it is
    long. The text has single spaces only."""
    line = f"{key}{plain(text)}"
    if len(line) <= WIDEST:
        return f"{line}\n"
    indent = " " * (len(key) - len(key.lstrip()) + 2)
    lines = textwrap.wrap(
        text, WIDEST - len(indent), break_long_words=False, break_on_hyphens=False
    )
    return "".join([f"{key}>-\n", *(f"{indent}{one}\n" for one in lines)])
