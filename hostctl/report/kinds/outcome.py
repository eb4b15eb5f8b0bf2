"""What a report comes to, in short: for a screen beside the machine, where nobody reads a page.

It is written beside the report and drawn by whoever shows it, so it holds marks and sentences, and
nothing that is worked out again. Keys may be added within a version.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.judgement import Verdict
from hostctl.report.analysis.told.words import counted
from hostctl.report.document.blocks import Document, Figure, Role
from hostctl.report.document.data import plain
from hostctl.report.figures.bed.bed_map import BedMap
from hostctl.report.figures.dot_rows import DotRows
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.gap.gaps import GapRow
from hostctl.report.figures.gap.true_gap import TrueGap
from hostctl.report.kinds.levelling.result import LevelResult

_FOLLOWS = "is told by what follows"  # in a report; here it is told by that


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanSeen:
    """The mean gap of a row, mm, and where it may lie (95 %). An open end is null in JSON."""

    value_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RowSeen:
    """One method in one pair of hands. head: heads this row and those below it.  note: how many lay
    within, and the verdict.  about_mm: what its limits are laid about.  dots: in rising order."""

    head: str
    label: str
    note: str
    about_mm: float
    dots: tuple[Dots, ...]
    mean: MeanSeen | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DotsSeen:
    """Every setting as a dot, all rows on one scale of mm from `counted_from`.

    step_mm: a graduation, or several.  within_mm: the tolerance to either side of what a row's
    limits are laid about; None without.
    """

    kind: Literal["dots"] = "dots"
    says: str
    counted_from: str
    step_mm: float
    within_mm: float | None
    rows: tuple[RowSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightSeen:
    """One place of the bed, and its height about the mean of all, up positive."""

    point: str
    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BedSeen:
    """The bed from above, as the last round found it."""

    kind: Literal["bed"] = "bed"
    says: str
    heights: tuple[HeightSeen, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What came out of one run.

    title: of the report; it says so where all was simulated.  drawn: None where a sentence says it
    all, or only the report has the figure.  next_steps: what a person may do now.
    """

    version: Literal[1] = 1
    title: str
    question: str
    answer: tuple[str, ...]
    drawn: DotsSeen | BedSeen | None
    cautions: tuple[str, ...]
    next_steps: tuple[str, ...]


def answer_of(document: Document) -> tuple[str, ...]:
    """A report's answer, told without what follows it there; a sentence or more each."""
    return tuple(
        said.replace(_FOLLOWS, "is told by the report") for said in document.said(Role.ANSWER)
    )


def outcome_of(document: Document, kind: str, found: object) -> Outcome:
    """document: of the report.  kind: of the study.  found: its analysis, or what its kind's own
    question found."""
    drawn = [_drawn(figure) for figure in document.figures().values()]
    return Outcome(
        title=document.title,
        question=" ".join(document.said(Role.QUESTION)),
        answer=answer_of(document),
        drawn=next((one for one in drawn if one is not None), None),
        cautions=tuple(document.said(Role.CAUTION)),
        next_steps=tuple(_next_steps(kind, found)),
    )


def as_data(outcome: Outcome) -> dict[str, Any]:
    """As strict JSON has it."""
    data: dict[str, Any] = plain(outcome)
    return data


def _drawn(figure: Figure) -> DotsSeen | BedSeen | None:
    match figure.drawing:
        case DotRows() as rows:
            return DotsSeen(
                says=figure.says,
                counted_from=rows.counted_from,
                step_mm=rows.step_mm,
                within_mm=rows.within_mm,
                rows=tuple(_row(row, 0.0, None) for row in rows.rows),
            )
        case TrueGap() as gap:
            return DotsSeen(
                says=figure.says,
                counted_from="the plate",
                step_mm=gap.step_mm,
                within_mm=gap.within_mm,
                rows=tuple(_row(row.readings, row.meant_mm, _mean(row)) for row in gap.rows),
            )
        case BedMap() as bed:
            heights = tuple(
                HeightSeen(point=one.name, x_mm=one.x_mm, y_mm=one.y_mm, height_mm=one.height_mm)
                for one in bed.spots
            )
            return BedSeen(says=figure.says, heights=heights)
        case _:
            return None


def _row(row: DotRow, about_mm: float, mean: MeanSeen | None) -> RowSeen:
    return RowSeen(
        head=row.head, label=row.label, note=row.note, about_mm=about_mm, dots=row.dots, mean=mean
    )


def _mean(row: GapRow) -> MeanSeen | None:
    bar = row.mean
    if bar is None:
        return None
    return MeanSeen(value_mm=bar.value, low_mm=bar.low, high_mm=bar.high)


_ON_THIS_BED = (
    "Next: a rig check, then a study on this bed. Where a screw was turned, zeros and ties made "
    "before hold no more."
)
_OF_LEVELLING = {
    "within-tolerance": _ON_THIS_BED,
    "within-rig": _ON_THIS_BED,
    "turn": "Next: level it once more.",
    "out-of-travel": (
        "Next: give that screw travel again, in the middle of its range, then level it once more."
    ),
    "no-better": "Next: look at the indicator's mount and the screws, then a rig check.",
    "jumped": "Next: look at the indicator's mount and the screws, then a rig check.",
}
_OF_KIND = {
    "rig-check": (
        "Next: a study of methods. What the rig scatters, by this check, is taken out of it."
    ),
    "tie": "Next: a study with this tie. It holds until the nozzle or the indicator is touched.",
}
_RIG_FIRST = "Next: a rig check, so that what the rig itself scatters is taken out of this."
_DECIDED = "Every row is decided. The report has each reading and what it rests on: show it."


def _next_steps(kind: str, found: object) -> Iterator[str]:
    """In what somebody at the phone can do."""
    match found:
        case LevelResult():
            yield _OF_LEVELLING[found.last.verdict]
        case Analysis() if kind in _OF_KIND:
            yield _OF_KIND[kind]
        case Analysis() if kind == "comparison":
            yield from _of_settings(found)


def _of_settings(found: Analysis) -> Iterator[str]:
    if found.rig is None and found.rig_wanted:
        yield _RIG_FIRST
    verdicts = [one.verdict for one in found.results if isinstance(one.verdict, Verdict)]
    more = [one.further_trials for one in verdicts if one.further_trials is not None]
    if more:
        yield (
            f"Next: carry the study out again. Up to {counted(max(more), 'more trial')} of a row "
            "that can't be told yet would probably decide it; both runs are then reported together "
            "at the terminal."
        )
    elif verdicts and all(one.verdict != "cannot tell yet" for one in verdicts):
        yield _DECIDED
