"""The table of every reading: void ones, with why, and zeros included.

Up to STANDING of them stand in the page. The page's script makes the table anew from the data that
the page encloses, so that it can be sorted and leafed through; where no script runs, and there are
more, it is said where they are. All words of that table are here; the script is told them.
"""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from hostctl.records import TIE_METHOD
from hostctl.report.document.as_html import IN_ONE_LINE, table_as_html
from hostctl.report.document.blocks import Table
from hostctl.report.document.html_words import words
from hostctl.report.document.significant import in_mm
from hostctl.report.enclosed.sourced import Sourced
from hostctl.report.html_file.columns import VOID, ZERO, Row, used_columns
from hostctl.report.sources.tie_record import DOUBTED
from hostctl.store.rows import TIE_CHECKED

STANDING = 400
AT_ONCE = 200

HEADING, ADDRESS = "The readings one by one", "one-by-one"
NEEDS_SCRIPT = (
    "{count} readings are listed here by a script within this page; where none may run, they are "
    "in the data that the page encloses."
)
IN_A_FILE = (
    "{count} readings are too many to list; they are in {file}, which belongs beside this page."
)
WHAT_TIES_ARE = (
    " Those of method {tie} are readings of the tie: they join the indicator to the nozzle, and "
    "are no settings."
)
WHAT_IS_MARKED = (
    "A void reading stays, with its reason, and counts for nothing. A zero is what those after it "
    "count from."
)
SAID = {
    "zero": ZERO,
    "void": VOID,
    "doubted": DOUBTED,
    "doubts": TIE_CHECKED,
    "shown": "{first} to {last} of {count}, {order}.",
    "as_stored": "in the order taken",
    "rising": "by {column}, rising",
    "falling": "by {column}, falling",
    "moves": {"first": "First", "earlier": "Earlier", "later": "Later", "last": "Last"},
    "leaf": "Leaf through the readings",
    "keep": "Keep them as a table (CSV)",
    "file": "readings.csv",
}


def every_reading(sources: Sequence[Sourced], data_file: str | None = None) -> str:
    """The section. sources: in the order enclosed, the rig's last.  data_file: where the data
    lie, if not in the page."""
    return (
        f'<section id="readings" aria-labelledby="{ADDRESS}">\n'
        f'<h2 id="{ADDRESS}">{HEADING}</h2>\n{_listed(sources, data_file)}\n</section>'
    )


def _listed(sources: Sequence[Sourced], data_file: str | None) -> str:
    count = sum(len(source.rows) for source in sources)
    if data_file is not None:
        return f"<p>{words(IN_A_FILE.format(count=f'{count:,}', file=data_file))}</p>"
    needs = NEEDS_SCRIPT.format(count=f"{count:,}")
    stands = table_as_html(_table(sources)) if count <= STANDING else f"<p>{needs}</p>"
    return (
        f"<p>{WHAT_IS_MARKED}{_of_ties(sources)}</p>\n<div>\n{stands}\n</div>\n"
        f'<script type="application/json" id="readings-said">{_said(sources)}</script>'
    )


def _of_ties(sources: Sequence[Sourced]) -> str:
    return WHAT_TIES_ARE.format(tie=TIE_METHOD) if any(one.rows.of_ties for one in sources) else ""


def _table(sources: Sequence[Sourced]) -> Table:
    columns = used_columns(sources)
    each = (one for source in sources for one in _each(source))
    rows = [Row(place, *one) for place, one in enumerate(each, start=1)]
    return Table(
        columns=tuple(one.column for one in columns),
        rows=tuple(tuple(one.cell(row) for one in columns) for row in rows),
    )


def _each(source: Sourced) -> Iterator[tuple[Sourced, int, bool]]:
    """Every reading: its source, its place in it, and whether it is doubted."""
    rows, doubted = source.rows, source.doubted
    for at, (group, trial, attempt) in enumerate(
        zip(rows.group, rows.trial, rows.attempt, strict=True)
    ):
        of = rows.groups[group]
        yield source, at, (of.block, of.round, trial, attempt) in doubted


def _said(sources: Sequence[Sourced]) -> str:
    """What the script is told: the words, the columns, and how many decimals readings have."""
    told: dict[str, Any] = {
        **SAID,
        "heading": HEADING,
        "all_up_to": STANDING,
        "at_once": AT_ONCE,
        "in_one_line": IN_ONE_LINE,
        "decimals": [_decimals(source.material.resolution_mm) for source in sources],
        "columns": [
            {"key": one.key, "title": one.column.title, "is_number": one.column.is_number}
            for one in used_columns(sources)
        ],
    }
    return json.dumps(told, separators=(",", ":")).replace("<", "\\u003c")


def _decimals(resolution_mm: float | None) -> int:
    return len(in_mm(0.0, resolution_mm).partition(".")[2])
