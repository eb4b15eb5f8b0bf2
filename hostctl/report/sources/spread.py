"""The spread of each pair of hands with each method, as it was read: the rig is in it."""

from collections.abc import Sequence

from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.rounded.evidence import SpreadEvidence
from hostctl.metrology.rounded.rounding import RoundedSpread, spread_evidence, spread_from
from hostctl.report.sources.material import Block, Material

Hands = tuple[str, str]
"""Method and operator; both empty where nobody set anything."""


def blocks_by_hands(material: Material) -> dict[Hands, list[Block]]:
    """The blocks of each method and operator, sorted."""
    found: dict[Hands, list[Block]] = {}
    for block in material.blocks:
        found.setdefault((block.method, block.operator), []).append(block)
    return dict(sorted(found.items()))


def spread_of(blocks: Sequence[Block], material: Material) -> RoundedSpread | None:
    """Their spread, each about its own mean; None where they are too few for one."""
    evidence = evidence_of_blocks(blocks, material)
    return None if evidence is None else spread_from(evidence, 0.95)


def evidence_of_blocks(blocks: Sequence[Block], material: Material) -> SpreadEvidence | None:
    """What they say of their spread; None where they are too few."""
    values = [block.values_mm for block in blocks]
    try:
        return spread_evidence(
            values, resolution=material.resolution_mm, reference=material.reference
        )
    except NotEnough:
        return None
