"""What was read of one method in one pair of hands, and what it says of the spread."""

from dataclasses import dataclass

from hostctl.config.study_kind import words_of
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference, settings_of
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.rounding import spread_evidence
from hostctl.report.sources.material import Block, Material
from hostctl.report.sources.spread import blocks_by_hands

CONFIDENCE = 0.95


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


def evidence_of(sample: Sample) -> SpreadEvidence:
    """What it says of the spread common to its blocks. Raises NotEnough."""
    return spread_evidence(
        sample.values, resolution=sample.resolution_mm, reference=sample.reference
    )
