"""What a report's file is called."""

import re
from collections.abc import Sequence

from hostctl.report.enclosed.enclosure import Enclosure

_NO_PART_OF_A_NAME = re.compile(r"[^a-z0-9]+")
_LONGEST = 80


def file_stem(enclosure: Enclosure) -> str:
    """After study, machine and run of the first source, as `three-methods-on-sim-220-run-2`."""
    names = [_name(source.material.name) for source in enclosure.sources]
    account = enclosure.sources[0].account
    first = [account.study, "on", account.machine] if account is not None else []
    return _joined([*map(_name, first), *names])


def _name(text: str) -> str:
    """Letters, figures and dashes, which every file system takes."""
    return _NO_PART_OF_A_NAME.sub("-", text.lower()).strip("-")


def _joined(parts: Sequence[str]) -> str:
    """As many whole parts as there is room for."""
    joined = "-".join(part for part in parts if part)
    return joined[:_LONGEST].strip("-") or "report"
