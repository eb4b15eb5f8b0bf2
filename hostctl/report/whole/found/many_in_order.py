"""Settings in the order in which they were made, where they are too many for a list of objects."""

from collections import Counter
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from hostctl.metrology.basis.reference import Reference
from hostctl.records import TIE_METHOD
from hostctl.report.analysis.sums.rows import Centred
from hostctl.report.enclosed.sourced import COUNTS, Sourced


class MadeOfMany:
    """The settings of sources, one after the other. from_mm: how far each is from where its block
    counts from.  block: the place of its block; result: that of its method and hands.
    reach_mm: from the lowest to the highest."""

    def __init__(
        self,
        of_each: Iterable[tuple[Sourced, Sequence[int | None]]],
        blocks: Sequence[Centred],
        reference: Reference,
    ) -> None:
        """of_each: sources, with the places of their blocks as far as these are wanted."""
        centres_mm = np.array([one.centre_mm for one in blocks])
        made = [
            _made(source, block_places, centres_mm, reference) for source, block_places in of_each
        ]
        self.from_mm = np.concatenate([from_mm for from_mm, _ in made])
        self.block = np.concatenate([block for _, block in made])
        self.result = np.array([one.result for one in blocks])[self.block]

        self.reach_mm = float(np.ptp(self.from_mm)) if len(self.from_mm) else 0.0

    def __len__(self) -> int:
        return len(self.from_mm)

    def one_by_one(self) -> list[tuple[float, int]]:
        """from_mm and block of each."""
        return list(zip(self.from_mm.tolist(), self.block.tolist(), strict=True))

    def counted(self, wide: int, step_mm: float) -> Counter[tuple[int, int, int]]:
        """How many share a column, `wide` settings each, a result, and a level of so many mm."""
        level = np.rint(self.from_mm / step_mm).astype(np.int64)
        lowest, results = level.min(), self.result.max() + 1
        levels = level.max() - lowest + 1
        column = np.arange(len(self)) // wide
        heap = (column * results + self.result) * levels + (level - lowest)
        places, counts = np.unique(heap, return_counts=True)
        above, at_level = np.divmod(places, levels)
        of = (*np.divmod(above, results), at_level + lowest, counts)
        return Counter(
            {
                (column, result, level): count
                for column, result, level, count in zip(*(one.tolist() for one in of), strict=True)
            }
        )


def _made(
    source: Sourced,
    block_places: Sequence[int | None],
    centres_mm: NDArray[np.float64],
    reference: Reference,
) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """The settings of one source. A zero is one only of reference `first`, and the last of them."""
    rows, own = source.rows, source.material.blocks
    group = np.frombuffer(rows.group, dtype=np.intc)
    value_mm = np.concatenate([np.asarray(one.values_mm, dtype=np.float64) for one in own])
    places = np.array([-1 if one is None else one for one in block_places], dtype=np.intp)
    at = _settings(source, group)
    by_block = at[np.argsort(group[at], kind="stable")][: len(value_mm)]
    order = np.argsort(by_block, kind="stable")
    place = np.repeat(places, [len(one.values_mm) for one in own])[: len(by_block)][order]
    at, from_mm = by_block[order], value_mm[: len(by_block)][order] - centres_mm[place]
    wanted = place >= 0
    at, place, from_mm = at[wanted], place[wanted], from_mm[wanted]
    if reference != "first":
        return from_mm, place
    place_of = np.full(len(rows.groups), -1, dtype=np.intp)
    place_of[group[at]] = place
    is_zero = np.frombuffer(rows.is_zero, dtype=np.int8) != 0
    stands = np.frombuffer(rows.void, dtype=np.intc) == COUNTS
    zero_at = _zeros(group, np.flatnonzero(stands & is_zero), len(rows.groups))
    zeros = np.flatnonzero(place_of >= 0)
    in_order = np.argsort(np.concatenate((zero_at[zeros], at)), kind="stable")
    zero_mm = -centres_mm[place_of[zeros]]
    return (
        np.concatenate((zero_mm, from_mm))[in_order],
        np.concatenate((place_of[zeros], place))[in_order],
    )


def _settings(source: Sourced, group: NDArray[np.intc]) -> NDArray[np.intp]:
    """The rows of those that count; of ties only where there is nothing else."""
    rows = source.rows
    counts = np.frombuffer(rows.void, dtype=np.intc) == COUNTS
    counts &= np.frombuffer(rows.is_zero, dtype=np.int8) == 0
    counts &= ~np.isnan(np.frombuffer(rows.relative_mm, dtype=np.float64))
    if not source.material.nobody_set:
        of_tie = np.array([one.method == TIE_METHOD for one in rows.groups])
        counts &= ~of_tie[group]
    return np.flatnonzero(counts)


def _zeros(group: NDArray[np.intc], zeros: NDArray[np.intp], groups: int) -> NDArray[np.intp]:
    """Where each block's zero was read last; of a file, which has none, before its readings."""
    found, first = np.unique(group, return_index=True)
    at = np.zeros(groups, dtype=np.intp)
    at[found] = first
    np.maximum.at(at, group[zeros], zeros)
    return at
