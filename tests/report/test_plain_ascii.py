"""Signs for a terminal that knows ASCII alone: every one we print has a nearest."""

import re
from pathlib import Path

import pytest

from hostctl.report.document.plain_ascii import asked_for, in_ascii

PACKAGE = Path(__file__).parents[2] / "hostctl"
NO_TERMINAL = ("channels/page/", "channels/messages/")
SOURCES = [
    path
    for path in sorted(PACKAGE.rglob("*.py"))
    if not any(part in path.as_posix() for part in NO_TERMINAL)
]


def test_every_sign_in_what_a_terminal_shows_has_a_nearest_plain_one():
    signs = {sign for path in SOURCES for sign in path.read_text() if ord(sign) > 127}
    names = {name for path in SOURCES for name in re.findall(r"\\N\{[^}]*\}", path.read_text())}
    signs |= {name.encode().decode("unicode_escape") for name in names}
    signs -= {"\N{NO-BREAK SPACE}"}  # becomes a blank before it is shown
    assert len(signs) > 40
    assert {sign for sign in signs if "?" in in_ascii(sign)} == set()


@pytest.mark.parametrize(
    ("environment", "plain"),
    [
        ({"LANG": "C"}, True),
        ({"LANG": "POSIX"}, True),
        ({"LANG": "C", "LC_CTYPE": "C.UTF-8"}, True),  # set so by Python itself, PEP 538
        ({"LC_ALL": "C", "LANG": "en_GB.UTF-8"}, True),
        ({"LANG": "de_DE.ISO-8859-1"}, True),
        ({}, False),
        ({"LC_CTYPE": "C.UTF-8"}, False),
        ({"LANG": "C.UTF-8"}, False),
        ({"LANG": "de_DE.UTF-8"}, False),
        ({"LANG": "de_DE.utf8"}, False),
        ({"LANG": "de_DE"}, False),
        ({"LANG": "C", "LC_ALL": "C.UTF-8"}, False),
        ({"LANG": "C", "PYTHONUTF8": "1"}, False),
    ],
)
def test_plain_signs_are_for_a_locale_that_names_no_utf_8(environment: dict[str, str], plain: bool):
    assert asked_for(environment) is plain
