"""How it was done: each run, its cycle, what does not count, and the data that come with it."""

from collections.abc import Iterator
from datetime import datetime
from typing import Protocol

from hostctl.report.analysis.told.words import counted
from hostctl.report.document.blocks import (
    Block,
    Column,
    Figure,
    Heading,
    Items,
    Paragraph,
    Table,
)
from hostctl.report.figures.cycle_path import CyclePath, Stop
from hostctl.report.whole.result import Conduct, Enclosed, Left, PathStop, Planned

HEADING = "How was it done?"

MOST_LEFT = 200
"""Rows of what does not count; the data have all of them."""

SAFETY = (
    "A machine that does this can crush, burn and start fires: keep to its maker's manual, never "
    "leave it alone while it is on, and know where its mains switch is."
)
_ORDERS = {
    "blocked": "blocks in random order, the trials of a block together",
    "mixed": "every trial in one random order",
}
_REFERENCES = {
    "first": "each block's own zero, at its first setting",
    "previous": "the setting before",
    "datum": "a datum",
    "gap": "the nozzle, by the tie: each gives a gap",
}
_GAUGES = {
    "typed": "read off the indicator and typed",
    "probe": "the machine's own probe",
    "serial-indicator": "an indicator on a serial line",
    "typing-indicator": "an indicator whose cable types what it shows, at a press",
}


class CarriedOut(Protocol):
    """As much of a report as tells how its readings were taken; as in `Report`."""

    @property
    def conduct(self) -> tuple[Conduct, ...]: ...

    @property
    def rig(self) -> Conduct | None: ...

    @property
    def enclosed(self) -> Enclosed: ...

    @property
    def made_at(self) -> datetime: ...

    @property
    def program(self) -> str: ...


def how_done(report: CarriedOut) -> Iterator[Block]:
    """Runs and the rig check taken out, then the data."""
    conducted = [*report.conduct, *([report.rig] if report.rig else [])]
    yield Heading(text=HEADING)
    if not conducted:
        yield Paragraph(
            text="The readings come from a table, which tells nothing of how they were taken."
        )
    for run in conducted:
        yield Heading(text=_called(run, is_rig=run is report.rig), level=2)
        yield _facts(run)
        yield from _cards(run)
        yield from _how_tied(run)
        yield from _left(run)
    yield from _cycles(report)
    yield from _data(report)


def _called(run: Conduct, *, is_rig: bool) -> str:
    what = ", the rig check taken out" if is_rig else ""
    return f"{run.name[0].upper()}{run.name[1:]}: {run.study} on {run.machine}{what}"


def _facts(run: Conduct) -> Table:
    rows = [*_begun(run), *(_as_planned(run.planned) if run.planned else _NOT_KEPT)]
    rows += [("seed of the random order", run.seed), ("program", run.program), *_warmth(run)]
    return Table(columns=(Column(head="what"), Column(head="how")), rows=tuple(rows))


_NOT_KEPT = (("study and machine", "their files can't be read by this version"),)


def _begun(run: Conduct) -> Iterator[tuple[str, str]]:
    yield "begun", f"{run.started_at:%Y-%m-%d %H:%M} UTC"
    if run.ended_at is None:
        yield "ended", "not yet"
    else:
        how = "complete" if run.complete else f"broken off: {run.end_reason}"
        yield "ended", f"{run.ended_at:%Y-%m-%d %H:%M} UTC, {how}"


def _as_planned(planned: Planned) -> Iterator[tuple[str, str]]:
    if planned.simulated:
        yield "machine", "simulated: a program stands in for printer, bed and indicator"
    yield "gauge", f"{_GAUGES.get(planned.gauge, planned.gauge)}, to {planned.resolution_mm:g} mm"
    if planned.operators:
        yield "operators", ", ".join(planned.operators)
    yield "points", ", ".join(planned.points)
    if planned.order:
        yield "trials in each block", str(planned.trials)
        yield "order", _ORDERS.get(planned.order, planned.order)
        yield "readings count from", _REFERENCES.get(planned.reference, planned.reference)
    yield "rest before a reading", f"{planned.settle_s:g} s"
    if planned.turn_away_deg is not None:
        least, most = planned.turn_away_deg
        yield "screw turned away before each setting", f"{least} to {most} degrees, at random"
    warm = planned.warm_bed_c
    yield "heaters", "off" if warm is None else f"bed at {warm:g} °C"


def _warmth(run: Conduct) -> Iterator[tuple[str, str]]:
    for what, reach in (("bed", run.bed_c), ("nozzle", run.nozzle_c)):
        if reach is not None:
            low, high = reach
            span = f"{low:.1f} °C" if low == high else f"{low:.1f} to {high:.1f} °C"
            yield f"{what} while reading", span


def _cards(run: Conduct) -> Iterator[Block]:
    if run.planned is not None and run.planned.methods:
        yield Items(items=tuple(f"{card.name}: {card.instruction}" for card in run.planned.methods))


_TIES = {
    "touch": (
        "The nozzle and the plate are wired with the printer unplugged; then, heaters off, a meter "
        "must show under 0.5 V and over 100 kΩ between them.",
        "Blades bracket the contact by hand; the nozzle goes no more than {floor:g} mm below that.",
        "The cold, clean nozzle comes down by steps of at most {coarse:g} mm, near contact "
        "{fine:g} mm; each step is finished, and its position proven, before contact is asked, "
        "which is known by {contact}.",
    ),
    "feelers": (
        "At a known height the largest blade that goes under the nozzle, and the smallest that "
        "does not, say between what the gap lies.",
    ),
    "gauge-block": ("The bed is turned up until a gauge block under the nozzle just touches it.",),
}
_CONTACTS = {
    "lamp": "a lamp or a meter's beep",
    "input": "an input that the controller reports",
    "line": "a line of the computer",
}


def _how_tied(run: Conduct) -> Iterator[Block]:
    """The steps of the tie."""
    tie = run.planned.tie if run.planned is not None else None
    if tie is None:
        return
    steps = (
        one.format(
            floor=tie.floor_below_mm,
            coarse=tie.coarse_mm,
            fine=tie.fine_mm,
            contact=_CONTACTS.get(tie.contact or "", "what the study names"),
        )
        for one in _TIES.get(tie.by, ())
    )
    where = f"at {', '.join(tie.points)}" if tie.points else "at each point"
    checks = f"{counted(tie.checks, 'time')} on the way and once more at the end"
    yield Paragraph(text="How the indicator was tied to the nozzle:")
    yield Items(
        items=(
            "The plunger is pressed in by hand, which tells which way its number goes.",
            *steps,
            "Then the plunger reads the same place, so that what lies there drops out; its bezel "
            "is not turned from then on to the last reading. Leads, plate and blades come out "
            "before any homing.",
            f"That is done {counted(tie.times, 'time')} {where}, and checked {checks}, "
            f"{counted(tie.check_times, 'time')} each.",
        )
    )


def _left(run: Conduct) -> Iterator[Block]:
    """Every trial that doesn't count and every stop, with its reason."""
    if not run.left:
        yield Paragraph(text="No trial was void, skipped or done again, and nothing held the run.")
        return
    yield Paragraph(text=f"What does not count, or held the run, {counted(len(run.left), 'time')}:")
    yield Table(
        columns=(
            Column(head="UTC"),
            Column(head="what"),
            Column(head="where"),
            Column(head="why"),
        ),
        rows=tuple(map(_left_row, run.left[:MOST_LEFT])),
    )
    if (more := len(run.left) - MOST_LEFT) > 0:
        yield Paragraph(text=f"And {more} more, which are in the data.")


def _left_row(left: Left) -> tuple[str, ...]:
    return f"{left.at:%Y-%m-%d %H:%M:%S}", left.what, left.where, left.why


def _cycles(report: CarriedOut) -> Iterator[Block]:
    """One figure a kind of cycle: those of several runs are mostly the same."""
    shown: dict[tuple[PathStop, ...], list[str]] = {}
    for run in [*report.conduct, *([report.rig] if report.rig else [])]:
        if run.planned is not None and run.planned.path:
            shown.setdefault(run.planned.path, []).append(run.name)
    if shown:
        yield Heading(text="One cycle, from the side", level=2)
    for place, (path, names) in enumerate(shown.items(), start=1):
        stops = tuple(
            Stop(sideways_mm=one.sideways_mm, z_mm=one.z_mm, label=one.what) for one in path
        )
        name = "cycle" if place == 1 else f"cycle-{place}"
        yield Figure(drawing=CyclePath(stops=stops), says=_path_seen(path, names), name=name)
    if report.conduct or report.rig:
        yield Paragraph(text=SAFETY)


def _path_seen(path: tuple[PathStop, ...], names: list[str]) -> str:
    high, low = max(one.z_mm for one in path), min(one.z_mm for one in path)
    aside = max(one.sideways_mm for one in path)
    says = f"One trial of {', '.join(names)}: the nozzle comes down from {high:g} to {low:g} mm"
    if aside > 0.0:
        says += f", and stands {aside:g} mm beside the point at the reading"
    return f"{says}; sideways it goes only at the top."


def _data(report: CarriedOut) -> Iterator[Block]:
    enclosed = report.enclosed
    where = f"in {enclosed.file}, beside it" if enclosed.file else "in it"
    yield Heading(text="The data", level=2)
    zeros = ", zeros among them, with how they were taken," if report.conduct else ""
    letters = " Letters stand in for the names of people." if enclosed.letters else ""
    yield Paragraph(
        text=f"This report is data: {counted(enclosed.readings, 'reading')}{zeros} "
        f"{'is' if enclosed.readings == 1 else 'are'} {where}, and hostctl analyse reckons "
        f"everything here again.{letters}"
    )
    yield Paragraph(
        text=f"SHA-256 of the data: {enclosed.sha256}. It shows whether they were changed by "
        "accident; it is no signature, as whoever changes them on purpose can write it anew."
    )
    yield Paragraph(text=f"Made by {report.program}, {report.made_at:%Y-%m-%d %H:%M} UTC.")
