"""A run's rows as plain numbers: the only place where rows become what the maths takes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import cast

from hostctl.metrology.basis.reference import Reference
from hostctl.store.rows import RunRecord, StoredReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """The readings of one method in one pair of hands, block by block, mm.

    Method and operator are empty where nobody set anything: a rig check, a probe loop.
    """

    method: str
    operator: str
    blocks: tuple[tuple[float, ...], ...]
    resolution_mm: float  # the coarsest, should they differ

    @property
    def readings_mm(self) -> list[float]:
        """All of them, relative to their blocks' zeros."""
        return [value for block in self.blocks for value in block]


def samples_of(record: RunRecord) -> list[Sample]:
    """One sample for each method and operator, sorted; void readings left out."""
    counted = [
        reading
        for reading in record.readings
        if reading.void is None and reading.relative_mm is not None and not reading.kept.is_zero
    ]
    groups = {_hands(reading): None for reading in counted}
    return [_sample(hands, counted) for hands in sorted(groups)]


def reference_of(record: RunRecord) -> Reference:
    """What the run's readings are relative to."""
    return cast(Reference, record.summary.new.reference)


def _hands(reading: StoredReading) -> tuple[str, str]:
    return reading.kept.place.method, reading.kept.place.operator


def _block(reading: StoredReading) -> tuple[int, int]:
    return reading.kept.place.block, reading.kept.place.round


def _sample(hands: tuple[str, str], counted: Sequence[StoredReading]) -> Sample:
    mine = sorted((reading for reading in counted if _hands(reading) == hands), key=_block)
    blocks = [
        tuple(reading.relative_mm for reading in block if reading.relative_mm is not None)
        for _, block in groupby(mine, key=_block)
    ]
    return Sample(
        method=hands[0],
        operator=hands[1],
        blocks=tuple(blocks),
        resolution_mm=max(reading.kept.reading.resolution_mm for reading in mine),
    )
