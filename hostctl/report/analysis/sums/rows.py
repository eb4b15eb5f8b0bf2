"""How settings lie about what the tolerance is measured from, each method in each pair of hands."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from math import fsum
from typing import NamedTuple

from hostctl.metrology.basis.estimate import Readings, is_array
from hostctl.metrology.basis.reference import settings_of
from hostctl.report.analysis.result.judgement import Inside, MethodResult
from hostctl.report.analysis.result.rows import RowSeen, ValueSeen
from hostctl.report.analysis.sums.as_read import SLACK_MM
from hostctl.report.sources.material import Block
from hostctl.report.sources.sample import Sample

MOST_VALUES = 80
"""Of one row; with more of them, several graduations are drawn as one."""

_DIGITS = 9  # of a mm: finer are only what binary fractions add

_Place = tuple[float, bool]
"""How far from where the row counts from, and whether that is outside."""


class Centred(NamedTuple):
    """A block and where its settings count from, mm. result: the place of its method and hands.

    settings: each value and how often, the block's zero among them where it is one.
    """

    block: Block
    result: int
    centre_mm: float
    average_mm: float
    settings: Mapping[float, int]


class _Counts(NamedTuple):
    """How many settings of a row lie at each place, and how many of them are doubted."""

    all: Counter[_Place]
    doubted: Counter[_Place]


def centred(samples: Sequence[Sample], results: Sequence[MethodResult]) -> list[Centred]:
    """Every block, method by method and hands by hands."""
    return [
        _centred(place, result, sample, block)
        for place, (sample, result) in enumerate(zip(samples, results, strict=True))
        for block in sample.blocks
    ]


def rows_of(
    blocks: Sequence[Centred], within_mm: float | None, resolution_mm: float
) -> tuple[RowSeen, ...]:
    """The settings of each method and hands. within_mm: None where nothing is to be outside."""
    rows: dict[int, _Counts] = {}
    limit = None if within_mm is None else within_mm + SLACK_MM
    for one in blocks:
        row = rows.setdefault(one.result, _Counts(Counter(), Counter()))
        for value, count in one.settings.items():
            away = value - one.centre_mm
            place = round(away, _DIGITS), limit is not None and abs(away) > limit
            row.all[place] += count
            if one.block.footing is not None and one.block.footing.doubted:
                row.doubted[place] += count
    return tuple(_row(result, row, resolution_mm) for result, row in rows.items())


def inside_of(row: RowSeen) -> Inside:
    """How many of a row lie within the tolerance."""
    return Inside(inside=row.settings - row.outside, of=row.settings)


def counted(values: Readings) -> dict[float, int]:
    """Each value and how often it is there."""
    if is_array(values):
        import numpy as np

        found, counts = np.unique(np.round(values, _DIGITS), return_counts=True)
        return dict(zip(found.tolist(), counts.tolist(), strict=True))
    return Counter(round(float(value), _DIGITS) + 0.0 for value in values)


def _centred(place: int, result: MethodResult, sample: Sample, block: Block) -> Centred:
    settings = settings_of(block.values_mm, sample.reference)
    average_mm = fsum(settings) / len(settings)
    return Centred(
        block=block,
        result=place,
        centre_mm=0.0 if result.is_from_known_gap else average_mm,
        average_mm=average_mm,
        settings=counted(settings),
    )


def _row(result: int, counts: _Counts, resolution_mm: float) -> RowSeen:
    step_mm, merged = resolution_mm, len(counts.all) > MOST_VALUES
    found = counts
    while len(found.all) > MOST_VALUES:
        found = _Counts(*(_merged(one.items(), step_mm) for one in counts))
        step_mm *= 1 if len(found.all) <= MOST_VALUES else 2
    return RowSeen(
        result=result,
        values=tuple(
            ValueSeen(from_mm=place[0], count=count, outside=place[1], doubted=found.doubted[place])
            for place, count in sorted(found.all.items())
        ),
        step_mm=step_mm,
        merged=merged,
    )


def _merged(counts: Iterable[tuple[_Place, int]], step_mm: float) -> Counter[_Place]:
    found: Counter[_Place] = Counter()
    for (from_mm, outside), count in counts:
        found[round(round(from_mm / step_mm) * step_mm, _DIGITS), outside] += count
    return found
