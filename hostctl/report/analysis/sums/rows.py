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


class Centred(NamedTuple):
    """A block and where its settings count from, mm. result: the place of its method and hands.

    settings: each value and how often, the block's zero among them where it is one.
    """

    block: Block
    result: int
    centre_mm: float
    average_mm: float
    settings: Mapping[float, int]


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
    counts: dict[int, Counter[tuple[float, bool]]] = {}
    limit = None if within_mm is None else within_mm + SLACK_MM
    for one in blocks:
        row = counts.setdefault(one.result, Counter())
        for value, count in one.settings.items():
            away = value - one.centre_mm
            row[round(away, _DIGITS), limit is not None and abs(away) > limit] += count
    return tuple(_row(result, row, resolution_mm) for result, row in counts.items())


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


def _row(result: int, counts: Mapping[tuple[float, bool], int], resolution_mm: float) -> RowSeen:
    step_mm, merged = resolution_mm, len(counts) > MOST_VALUES
    found = counts
    while len(found) > MOST_VALUES:
        found = _merged(counts.items(), step_mm)
        step_mm *= 1 if len(found) <= MOST_VALUES else 2
    return RowSeen(
        result=result,
        values=tuple(
            ValueSeen(from_mm=from_mm, count=count, outside=outside)
            for (from_mm, outside), count in sorted(found.items())
        ),
        step_mm=step_mm,
        merged=merged,
    )


def _merged(
    counts: Iterable[tuple[tuple[float, bool], int]], step_mm: float
) -> Counter[tuple[float, bool]]:
    found: Counter[tuple[float, bool]] = Counter()
    for (from_mm, outside), count in counts:
        found[round(round(from_mm / step_mm) * step_mm, _DIGITS), outside] += count
    return found
