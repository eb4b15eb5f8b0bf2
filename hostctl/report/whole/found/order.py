"""Settings in the order in which they were made, over all runs."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from functools import partial
from math import ceil

from hostctl.metrology.basis.reference import Reference
from hostctl.records import TIE_METHOD
from hostctl.report.analysis.sums.rows import Centred
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.sources.material import Block, Material
from hostctl.report.whole.result import InOrder, PlaceSeen

MOST_PLACES = 600
"""Drawn one by one; beyond, columns share them, with a count at each level of each hands."""

COLUMNS, LEVELS = 120, 16
"""At the most; fewer where that still makes more than `MOST_PLACES`."""

MANY = 20_000
"""Readings beyond which arrays pay."""

_FEWEST = 8  # columns
_DIGITS = 9

Made = tuple[float, int]
"""A setting: how far from where its block counts from, and the place of its block."""

Heaps = Counter[tuple[int, int, int]]
"""How many settings share a column, a result and a level."""


def order_of(sources: Sequence[Sourced], material: Material, blocks: Sequence[Centred]) -> InOrder:
    """Every setting of `material`, which is made of these sources or of some of their blocks.

    blocks: the same blocks, with where they count from.
    """
    places = {id(one.block): place for place, one in enumerate(blocks)}
    wanted = [places[id(block)] for block in material.blocks]
    of_each = list(zip(sources, _of_sources(sources, material, wanted), strict=True))
    of_each.sort(key=lambda pair: _began(pair[0]))
    if sum(len(source.rows) for source in sources) > MANY:
        from hostctl.report.whole.found.many_in_order import MadeOfMany  # loads numpy

        many = MadeOfMany(of_each, blocks, material.reference)
        if len(many) > MOST_PLACES:
            return _in_columns(len(many), many.reach_mm, many.counted, material.resolution_mm)
        return _one_by_one(many.one_by_one(), blocks, material.resolution_mm)
    made = [
        one
        for source, block_places in of_each
        for one in _made(source, block_places, blocks, material.reference)
    ]
    if len(made) > MOST_PLACES:
        reach_mm = max(made)[0] - min(made)[0]
        return _in_columns(
            len(made), reach_mm, partial(_counted, made, blocks), material.resolution_mm
        )
    return _one_by_one(made, blocks, material.resolution_mm)


def _one_by_one(made: Sequence[Made], blocks: Sequence[Centred], resolution_mm: float) -> InOrder:
    return InOrder(
        places=tuple(
            PlaceSeen(
                place=place,
                from_mm=round(from_mm, _DIGITS),
                result=blocks[block].result,
                block=block,
                count=1,
            )
            for place, (from_mm, block) in enumerate(made, start=1)
        ),
        step_mm=resolution_mm,
        shared=False,
    )


def _began(source: Sourced) -> datetime:
    """Files, which tell no time, come first, in the order named."""
    return source.account.started_at if source.account else datetime.min.replace(tzinfo=UTC)


def _of_sources(
    sources: Sequence[Sourced], material: Material, wanted: Sequence[int]
) -> Iterator[list[int | None]]:
    """The place of each source's blocks; None of those left out. Both have them in one order."""
    left: Iterator[tuple[Block, int]] = iter(zip(material.blocks, wanted, strict=True))
    block, place = next(left, (None, None))
    for source in sources:
        found: list[int | None] = []
        for own in source.material.blocks:
            if block is not None and own.values_mm is block.values_mm:
                found.append(place)
                block, place = next(left, (None, None))
            else:
                found.append(None)
        yield found


def _made(
    source: Sourced,
    block_places: Sequence[int | None],
    blocks: Sequence[Centred],
    reference: Reference,
) -> Iterator[Made]:
    """The settings of one source. A zero is one only of reference `first`, and the last of them."""
    rows = source.rows
    by_block = sorted((rows.group[at], at) for at in _settings(source))
    values = [
        (float(value), place)
        for block, place in zip(source.material.blocks, block_places, strict=True)
        for value in block.values_mm
    ]
    if len(values) < len(by_block):  # ties alone: the rows of some have no contact on record
        by_block = by_block[: len(values)]
    of_row = {at: value for (_, at), value in zip(by_block, values, strict=False)}
    zeros: dict[int, int | None] = {}
    if reference == "first":
        place_of = {group: of_row[at][1] for group, at in reversed(by_block)}
        zeros = {at: place_of[group] for group, at in _zeros(rows, list(place_of)).items()}
    for at in sorted(of_row.keys() | zeros.keys()):
        if (zero := zeros.get(at)) is not None:
            yield -blocks[zero].centre_mm, zero
        value, place = of_row.get(at, (0.0, None))
        if place is not None:
            yield value - blocks[place].centre_mm, place


def _settings(source: Sourced) -> Iterator[int]:
    """The rows of those that count; of ties only where there is nothing else."""
    rows, skipped = source.rows, set[int]()
    if not source.material.nobody_set:
        skipped = {at for at, one in enumerate(rows.groups) if one.method == TIE_METHOD}
    columns = zip(rows.group, rows.is_zero, rows.void, rows.relative_mm, strict=True)
    for at, (group, is_zero, void, value) in enumerate(columns):
        counts = not is_zero and void == COUNTS and value == value  # NaN: no zero to count from
        if counts and group not in skipped:
            yield at


def _zeros(rows: Rows, groups: Sequence[int]) -> dict[int, int]:
    """Where each block's zero was read last; of a file, which has none, before its readings."""
    found: dict[int, int] = {}
    first: dict[int, int] = {}
    for at, (group, is_zero, void) in enumerate(
        zip(rows.group, rows.is_zero, rows.void, strict=True)
    ):
        first.setdefault(group, at)
        if is_zero and void == COUNTS:
            found[group] = at
    return {group: found.get(group, first[group]) for group in groups}


def _in_columns(
    settings: int, reach_mm: float, counted: Callable[[int, float], Heaps], resolution_mm: float
) -> InOrder:
    """Counts on the grid, so that they add up to all of them. reach_mm: from lowest to highest.
    counted: the settings with so many to a column, and levels so many mm apart."""
    wide, step_mm = ceil(settings / COLUMNS), resolution_mm
    while reach_mm > LEVELS * step_mm:
        step_mm *= 2
    counts = counted(wide, step_mm)
    while len(counts) > MOST_PLACES and settings > _FEWEST * wide:
        wide *= 2
        counts = _pairs_joined(counts)
    places = (
        PlaceSeen(
            place=column * wide + 1,
            from_mm=round(level * step_mm, _DIGITS),
            result=result,
            block=-1,
            count=count,
        )
        for (column, result, level), count in sorted(counts.items())
    )
    return InOrder(places=tuple(places), step_mm=step_mm, shared=True)


def _counted(made: Sequence[Made], blocks: Sequence[Centred], wide: int, step_mm: float) -> Heaps:
    return Counter(
        (at // wide, blocks[block].result, round(from_mm / step_mm))
        for at, (from_mm, block) in enumerate(made)
    )


def _pairs_joined(counts: Heaps) -> Heaps:
    """Half as many columns."""
    found: Heaps = Counter()
    for (column, result, level), count in counts.items():
        found[column // 2, result, level] += count
    return found
