"""How readings lie block by block, and how many of each method lay within the tolerance."""

from collections.abc import Sequence

from hostctl.report.analysis.result.judgement import Inside, MethodResult
from hostctl.report.analysis.sums.rows import Centred
from hostctl.report.whole.result import BlockSeen, CountSeen, ReadSeen

MOST_BLOCKS, MOST_READINGS = 200, 4000
"""With more of either, blocks are not drawn one by one."""


def counts_of(results: Sequence[MethodResult]) -> tuple[CountSeen, ...]:
    """Of each method, all hands together; none where nothing was counted."""
    inside: dict[str, list[Inside]] = {}
    for result in results:
        if result.inside is not None:
            inside.setdefault(result.method, []).append(result.inside)
    return tuple(
        CountSeen(
            method=method, inside=sum(one.inside for one in found), of=sum(one.of for one in found)
        )
        for method, found in inside.items()
    )


def blocks_of(blocks: Sequence[Centred], *, zero_counts: bool) -> tuple[BlockSeen, ...]:
    """Each block as it was read; none where there are too many to look at one by one."""
    readings = sum(len(one.block.values_mm) for one in blocks)
    if len(blocks) > MOST_BLOCKS or readings > MOST_READINGS:
        return ()
    return tuple(
        BlockSeen(
            result=one.result,
            point=one.block.point,
            workshop=one.block.workshop,
            settings=tuple(
                ReadSeen(value_mm=value, count=count)
                for value, count in sorted(one.settings.items())
            ),
            has_zero=zero_counts,
            average_mm=one.average_mm,
            doubted=one.block.footing is not None and one.block.footing.doubted,
        )
        for one in blocks
    )
