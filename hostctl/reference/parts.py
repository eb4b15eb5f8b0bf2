"""Which list of the reference is made from what, and how it comes into its file."""

import re
from collections.abc import Mapping
from typing import Any

from hostctl import errors
from hostctl.channels.json_lines.incoming import AnswerIn
from hostctl.channels.messages.payloads import BY_TOPIC
from hostctl.channels.messages.schemas import INCOMING
from hostctl.channels.view.view import StationView
from hostctl.config.budgets.budget import BudgetFile
from hostctl.config.host import Host
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.reference.keys import Way, sections_of
from hostctl.reference.lines import bullet, lines_of
from hostctl.reference.results import RESULTS, result_lines

DESCRIBED: Mapping[str, tuple[Any, Way]] = {
    "machine": (Machine, "taken"),
    "study": (Study, "taken"),
    "host": (Host, "taken"),
    "budget": (BudgetFile, "taken"),
    "view": (StationView, "told"),
    "json-lines": (AnswerIn, "taken"),
    **{topic: (kind, "taken" if topic in INCOMING else "told") for topic, kind in BY_TOPIC.items()},
}
"""The lists of keys: of what, and whether we take it or tell it."""

_ERROR = re.compile(r"^ +(?:[|`]- )?[A-Z]\w+ +(\d+)   (.+)$", re.MULTILINE)
_MADE = re.compile(r"<!-- made: ([\w-]+) -->\n.*?<!-- end -->", re.DOTALL)


def made_anew(text: str) -> str:
    """The text of a file of the reference with each list in it made anew.

    A list stands between `<!-- made: NAME -->` and `<!-- end -->`; the rest is written by hand.
    """
    return _MADE.sub(
        lambda found: f"<!-- made: {found[1]} -->\n{_list(found[1])}\n<!-- end -->", text
    )


def _list(name: str) -> str:
    if name == "exit-codes":
        return exit_codes()
    if name in RESULTS:
        return result_lines(RESULTS[name])
    return lines_of(sections_of(*DESCRIBED[name]))


def exit_codes() -> str:
    """Every exit code and what it means."""
    meanings = {code: [meaning] for code, meaning in errors.CODES_WITHOUT_ERROR.items()}
    for code, meaning in _ERROR.findall(errors.__doc__ or ""):
        meanings.setdefault(int(code), []).append(meaning)
    return "\n".join(
        bullet(f"`{code}`: {'; or '.join(meanings[code])}") for code in sorted(meanings)
    )
