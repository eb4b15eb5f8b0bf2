"""What was read of one method in one pair of hands, and its spread at any confidence."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.rounded.rounding import RoundedSpread, rounded_spread
from hostctl.report.sources.material import Block, Material
from hostctl.report.sources.spread import blocks_by_hands

CONFIDENCE = 0.95

SpreadAt = Callable[[float], RoundedSpread]
"""The spread with its interval at the confidence asked for. Raises NotEnough."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """The blocks of one method in one pair of hands; the operator is empty where nobody's."""

    method: str
    operator: str
    blocks: tuple[Block, ...]
    reference: Reference
    resolution_mm: float

    @property
    def values(self) -> list[Readings]:
        """The readings, block by block."""
        return [block.values_mm for block in self.blocks]

    @property
    def settings(self) -> list[Readings]:
        """The values whose spread is wanted, block by block."""
        return [settings_of(values, self.reference) for values in self.values]

    @property
    def readings(self) -> int:
        """How many readings there are."""
        return sum(map(len, self.values))


def samples_of(material: Material) -> list[Sample]:
    """One for each method and operator, sorted."""
    nameless = words_of(material.kind).nobody_sets or material.name
    return [
        Sample(
            method=method or nameless,
            operator=operator,
            blocks=tuple(mine),
            reference=material.reference,
            resolution_mm=material.resolution_mm,
        )
        for (method, operator), mine in blocks_by_hands(material).items()
    ]


def spread_at(sample: Sample) -> SpreadAt:
    """The spread common to its blocks, at any confidence; each is worked out once."""

    @lru_cache(maxsize=8)
    def at(confidence: float) -> RoundedSpread:
        return rounded_spread(
            sample.values,
            resolution=sample.resolution_mm,
            reference=sample.reference,
            confidence=confidence,
        )

    return at
