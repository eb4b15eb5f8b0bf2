"""What a reader must know before believing the charts, in plain words."""

from collections.abc import Iterable

from hostctl.metrology.over_time.history import FEW_POINTS
from hostctl.report.document.reasons import reason_words
from hostctl.report.history.result import History
from hostctl.report.sources.rig_check import ENOUGH


def cautions(history: History) -> Iterable[str]:
    """Sentences, those about the limits first."""
    for one in history.series:
        if one.why_no_limits is not None:
            yield f"No limits for the {one.what}: {reason_words(one.why_no_limits)}."
        elif one.limits is not None and one.limits.rough:
            yield (
                f"The limits of the {one.what} are rough: they come from few checks, "
                f"{FEW_POINTS} make them firm. A sign now may be chance, and none proves little."
            )
    if history.resolutions_differ:
        yield "These checks were read with different resolutions; coarser ones spread wider."
    if (below := history.below_graduation) is not None:
        yield (
            f"Spreads below one graduation ({below.resolution_mm:g} mm): {below.checks} of "
            f"{len(history.checks)}. s is the ordinary one, so rounding is a good part of it: it "
            "moves in steps, and a small change stays hidden."
        )
    if history.own_zeros:
        yield (
            "These checks count from their own zero, so they show the rig's spread, not whether "
            "it reads higher than it used to. For that give the rig check a datum."
        )
    if history.left_out:
        yield (
            f"Left out, broken off with fewer than {ENOUGH} readings (too few for a standard "
            "deviation that limits can be set by) or without a spread: "
            f"{', '.join(history.left_out)}."
        )
