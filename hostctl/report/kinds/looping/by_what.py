"""What touches share: a point, a side, an hour, a temperature, a homing."""

from collections.abc import Iterator, Sequence
from math import ceil

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.document.reasons import reason_words
from hostctl.report.document.significant import Lengths
from hostctl.report.kinds.looping.first import HOUR_S, drift_way
from hostctl.report.kinds.looping.result import (
    DriftFound,
    LoopResult,
    PartFound,
    SidesFound,
    WarmthFound,
)
from hostctl.report.kinds.looping.words import (
    correlation_words,
    lengths,
    signed_cells,
    signed_words,
    spread_cells,
    time_words,
)

_MUCH = 0.8  # a correlation with time from which on the two can't be told apart


def by_point(result: LoopResult) -> Iterator[Block]:
    """Each point's height and spread."""
    mm = lengths(result)
    yield Heading(text="By point")
    yield Table(
        columns=(Column(head="point"), _touches(), *_height(), *_spread()),
        rows=tuple(
            (
                one.point,
                f"{one.n:,}",
                *signed_cells(one.height, mm),
                *spread_cells(one.spread, mm),
            )
            for one in result.points
        ),
    )
    yield Paragraph(
        text="Height: the mean as the probe gives it. Here s has in it whatever changed in the "
        "course of the loop, drift and homing too."
    )


def by_side(result: LoopResult) -> Iterator[Block]:
    """Left less right, or that it was not tried."""
    yield Heading(text="By side")
    if result.sides is None:
        yield Paragraph(text="Not tried: the head did not come from two sides in turn.")
        return
    mm, sides = lengths(result), result.sides
    rows = (("left", sides.left, sides.left_spread), ("right", sides.right, sides.right_spread))
    yield Paragraph(text=_sides_differ(sides, mm))
    yield Table(
        columns=(Column(head="from the"), _touches(), *_spread()),
        rows=tuple((name, f"{n:,}", *spread_cells(spread, mm)) for name, n, spread in rows),
    )


def _sides_differ(sides: SidesFound, mm: Lengths) -> str:
    found = sides.difference
    if isinstance(found, NotYet):
        return f"How left and right differ can't be told: {reason_words(found.reason)}."
    said = f"{signed_words(found.mean, mm)}, by {found.mean.n:,} pairs that follow each other"
    if found.differs:
        return f"Left less right: {said}."
    return f"No difference shows, left less right: {said}."


def over_time(result: LoopResult) -> Iterator[Block]:
    """The drift, and hour by hour."""
    drift, mm = result.drift, lengths(result)
    yield Heading(text="By hour")
    yield Paragraph(text=_drift(drift, mm))
    if result.hours:
        yield _parts(result.hours, "hours", mm)
        yield Paragraph(text="Off: their mean, counted from that of their point and side.")
    else:
        yield Paragraph(text="All touches lie within one hour.")


def _drift(drift: DriftFound, mm: Lengths) -> str:
    """Per hour where it went on for one; else what it came to, for nobody saw an hour of it."""
    whole_hour = drift.over_h >= 1.0
    which = "per hour" if whole_hour else f"over its {time_words(HOUR_S * drift.over_h)}"
    found = drift.per_h if whole_hour else drift.in_all
    if isinstance(found, NotYet):
        return f"Drift {which} can't be told: {reason_words(found.reason)}."
    way = drift_way(drift)
    return f"Drift {which}, by a straight line {way}: {signed_words(found, mm)}, n = {found.n:,}."


def by_temperature(result: LoopResult) -> Iterator[Block]:
    """Per kelvin, or that it hardly varied."""
    mm = lengths(result)
    yield Heading(text="By temperature")
    if not result.warmth:
        yield Paragraph(text="The machine did not say how warm it was.")
    else:
        yield Items(items=tuple(_warmth(one, mm) for one in result.warmth))
    if result.phases:
        yield _parts(result.phases, "bed", mm)


def _warmth(one: WarmthFound, mm: Lengths) -> str:
    reach = f"{one.low_c:.1f} to {one.high_c:.1f} °C"
    if isinstance(one.per_k, NotYet):
        if one.with_time is None:
            return (
                f"The {one.what}'s temperature did not vary by more than "
                f"{max(ceil(10 * (one.high_c - one.low_c)), 1) / 10:.1f} K ({reach}), too little "
                "to go by."
            )
        return f"By the {one.what}'s ({reach}): {reason_words(one.per_k.reason)}."
    said = f"Per kelvin of the {one.what} ({reach}): {signed_words(one.per_k, mm)}"
    if one.with_time is not None and abs(one.with_time) >= _MUCH:
        likeness = correlation_words(one.with_time)
        return f"{said}; but it went with time (correlation {likeness}): this may be drift as well."
    return f"{said}, n = {one.per_k.n:,}."


def by_homing(result: LoopResult) -> Iterator[Block]:
    """What homing adds, where it homed in between."""
    yield Heading(text="By homing")
    found, mm = result.homing, lengths(result)
    if result.homed_for_each:
        said = "Each touch was homed for: what homing scatters is in the spread above."
    elif found is None:
        said = "It did not home in between: what homing adds is not in these readings."
    elif isinstance(found, NotYet):
        said = f"What homing adds can't be told: {reason_words(found.reason)}."
    else:
        within = ""
        if not isinstance(found.within, NotYet):
            within = f"; between two of them a touch scatters by {mm.mm(found.within.value)} mm"
        said = (
            f"Homing adds a scatter of its own of s = {mm.mm(found.homing.value)} mm (95 %: "
            f"{mm.span(found.homing.interval)}), by {found.segments} homings{within}."
        )
    yield Paragraph(text=said)


def _parts(parts: Sequence[PartFound], head: str, mm: Lengths) -> Table:
    return Table(
        columns=(
            Column(head=head),
            _touches(),
            Column(head="off", unit="mm", is_number=True),
            Column(head="95 %", unit="mm"),
            *_spread(),
        ),
        rows=tuple(
            (one.name, f"{one.n:,}", *signed_cells(one.off, mm), *spread_cells(one.spread, mm))
            for one in parts
        ),
    )


def _touches() -> Column:
    return Column(head="touches", is_number=True)


def _height() -> tuple[Column, Column]:
    return Column(head="height", unit="mm", is_number=True), Column(head="95 %", unit="mm")


def _spread() -> tuple[Column, Column]:
    return Column(head="s", unit="mm", is_number=True), Column(head="95 %", unit="mm")
