"""The page of ties: what is promised of the true gap, and every cell."""

from collections.abc import Sequence
from multiprocessing import Pool
from pathlib import Path

from promised.cells import ERRORS, SEED
from promised.ties import (
    AFTER,
    CELLS,
    FARTHEST,
    LIMITS,
    MARGIN,
    SETTINGS,
    STEPS,
    STUDIES,
    TieRow,
    judged,
)

TIES_PAGE = Path(__file__).parents[2] / "data" / "trueness.md"

_STEPS = ", ".join(f"{by} {1000 * step:g}" for by, step in STEPS.items())

_HEAD = f"""# How well what is said of the true gap holds

Written by `python tests/metrology/promises.py --trueness` (seed {SEED}, {STUDIES:,} studies a row);
not by hand. A study makes its tie by n touches, then {SETTINGS} settings with a bias anywhere
within {FARTHEST:g} mm either way, read to 0.01 mm. Steps, in micrometres: {_STEPS}.

Promised: the mean gap's interval leaves the truth out in at most 6 % of studies; "on target", of a
mean just beyond the margin of {MARGIN:g} mm either way, and "off target", of one that is on it, are
wrong in at most 5 %; the correction lands outside its stated uncertainty in at most 5 %; a check of
{AFTER} touches alarms falsely in at most 5 %, and of those where the tie moved by more than twice
the limit at most 5 % notice nothing. Figures are percent of studies. One fails, and is marked
**so**, that misses its limit by more than {ERRORS} simulation errors.

Scatter, in micrometres: of where contact is met, of its reading, of what repeating can't show (and
as much is stated for it), of settings. Edge: contact and reading always lie at the end of a step
and of a graduation, so that both roundings are off the same way.
"""

_HEADS = ("tie", "n", "contact", "reading", "beyond", "settings", "phase", *LIMITS)


def ties_page(rows: Sequence[TieRow]) -> str:
    """The whole text."""
    failing = sum(row.fails for row in rows)
    worst = ", ".join(f"{name} {100 * max(row.wrong[name] for row in rows):.2f}" for name in LIMITS)
    summary = f"{len(rows)} rows; failing: {failing}. In the worst row: {worst}."
    table = [_line(_HEADS), _line(["---"] * len(_HEADS)), *map(tie_line, rows)]
    return "\n".join((_HEAD, summary, "", *table, ""))


def tie_line(row: TieRow) -> str:
    """One row's."""
    figures = ((name, f"{100 * share:.2f}") for name, share in row.wrong.items())
    return _line(
        (*row.label, *(f"**{text}**" if row.misses(name) else text for name, text in figures))
    )


def tie_rows() -> list[TieRow]:
    """All of them, two at a time."""
    with Pool(2) as pool:
        return pool.map(judged, CELLS, chunksize=1)


def _line(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
