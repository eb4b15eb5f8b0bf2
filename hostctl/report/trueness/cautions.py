"""What a reader must know of a tie before believing what rests on it."""

from collections.abc import Iterator, Sequence

from hostctl.metrology.basis.reason import Reason
from hostctl.report.document.reasons import Withheld
from hostctl.report.trueness.result import RISK, TieFound, Trueness


def cautions(all_found: Sequence[Trueness], tie: TieFound, *, blocks_judged: int) -> Iterator[str]:
    """Plain words, the weightiest first. blocks_judged: in how many blocks a claim about the target
    has to hold, at most; 0: there is none."""
    if not all_found:
        return
    yield from _of_tie(all_found, tie)
    if blocks_judged:
        each = ", and it has to hold in each block: the worst one decides"
        yield (
            "Where the ± is of the target, being off it counts in the verdict too, and so does the "
            f"tie's own uncertainty{each if blocks_judged > 1 else ''}."
        )
    yield from _spent(all_found)


def _of_tie(all_found: Sequence[Trueness], tie: TieFound) -> Iterator[str]:
    doubted = sum(found.doubted for found in all_found)
    if any(check.moved for check in tie.checks):
        yield (
            f"A check found that the tie had moved. {_counted(doubted, 'reading')} since the last "
            "good one may rest on the old tie, the new one or anything between; they are marked, "
            "not left out, and the intervals allow for it."
        )
    if tie.is_stale and tie.bed_c is not None and tie.settings_bed_c is not None:
        yield (
            f"The tie was made on a bed of {tie.bed_c.low:.0f} to {tie.bed_c.high:.0f} °C, and "
            f"settings were read at {tie.settings_bed_c.low:.0f} to "
            f"{tie.settings_bed_c.high:.0f} °C: it had gone stale. Make it anew at their "
            "temperature."
        )
    yield from _holding(tie)
    unsaid = [one.name for one in all_found if one.why == Reason(Withheld.NO_MARGIN)]
    if unsaid:
        yield (
            "How far off still counts as on target nobody stated, so that is not said of any "
            "method; a study says it as on_target_within_mm, a command as --on-target."
        )


def _holding(tie: TieFound) -> Iterator[str]:
    """Whether it still holds, as far as is known."""
    if tie.by and tie.unchecked:
        yield (
            f"The tie was not checked after the last {_counted(tie.unchecked, 'reading')}: whether "
            "it still held is not known of them."
        )
    if tie.by:
        yield (
            "A tie goes stale by a knock, a remount, a bezel turned, another nozzle or another "
            "temperature, and with days: make it anew then."
        )
    elif not tie.beyond_mm:
        yield (
            "Nobody said how well the zero of these gaps is known, so it is taken as exact; an "
            "error of it is in every gap alike. If it is known: --tie-doubt."
        )


def _spent(all_found: Sequence[Trueness]) -> Iterator[str]:
    by_tie = (found for found in all_found if _is_judged(found))
    judged = [found.judged_by for found in by_tie if found.judged_by is not None]
    if judged and judged[0].confidence > 1.0 - RISK:
        yield (
            f"On or off target is judged at {100.0 * judged[0].confidence:.4g} %, so that over all "
            f"looks it is wrong in at most {100.0 * RISK:.4g} %; intervals are at 95 %."
        )


def _is_judged(found: Trueness) -> bool:
    """Whether it is on or off target was a matter of its interval."""
    return found.why is None or found.why.code in (Withheld.NO_MARGIN, Withheld.BEYOND_MARGIN)


def _counted(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
