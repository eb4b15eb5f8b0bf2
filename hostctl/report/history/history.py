"""A series of checks held against its own limits, and what that says in plain words."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.over_time.history import (
    FEW_POINTS,
    EwmaChart,
    IndividualsChart,
    SpreadChart,
    ewma_chart,
    individuals_chart,
    spread_chart,
)
from hostctl.report.document.reasons import Withheld, reason_words
from hostctl.report.history.checks import Check
from hostctl.report.history.signs import Point, Sign, signs_of

LIMIT = 0.9973  # as rare a false alarm as three standard deviations: one check in 370


@dataclass(frozen=True, slots=True, kw_only=True)
class Series:
    """Values in time with their charts. what: "spread", "mean" or "value".

    individuals: NotYet where no limits can be drawn; ewma and spread are None where that holds,
    or where the kind of value has no such chart.
    """

    what: str
    points: tuple[Point, ...]
    individuals: IndividualsChart | NotYet
    ewma: EwmaChart | None
    spread: SpreadChart | None
    signs: tuple[Sign, ...]

    @property
    def wild(self) -> frozenset[int]:
        """The points at which a sign shows."""
        return frozenset(index for sign in self.signs for index in sign.marked)


def spread_series(checks: Sequence[Check], baseline: int | None) -> Series:
    """The spread of each check: its own limits, and the run rules."""
    points = [Point(name=c.name, when=f"{c.at:%Y-%m-%d}", value=c.sd_mm) for c in checks]
    spread = spread_chart(
        [check.sd_mm for check in checks],
        [check.df for check in checks],
        baseline=baseline,
        confidence=LIMIT,
    )
    return _series("spread", points, baseline, spread)


def mean_series(checks: Sequence[Check], baseline: int | None) -> Series | None:
    """The mean of each check, where every one counts from a datum."""
    means = [check.mean_mm for check in checks]
    if not means or None in means:
        return None
    points = [
        Point(name=check.name, when=f"{check.at:%Y-%m-%d}", value=check.mean_mm)
        for check in checks
        if check.mean_mm is not None
    ]
    return _series("mean", points, baseline, None)


def value_series(points: Sequence[Point], baseline: int | None) -> Series:
    """Values somebody kept, one a check."""
    return _series("value", points, baseline, None)


def _series(
    what: str, points: Sequence[Point], baseline: int | None, spread: SpreadChart | None
) -> Series:
    values = [point.value for point in points]
    if len(values) < 2 or (baseline or 2) < 2:
        few = NotYet(reason=Reason(Withheld.TOO_FEW_CHECKS, least=2), needs_n=2)
        return Series(
            what=what, points=tuple(points), individuals=few, ewma=None, spread=None, signs=()
        )
    chart = individuals_chart(values, baseline=baseline)
    ewma = (
        None
        if isinstance(chart, NotYet)
        else ewma_chart(values, target=chart.centre, sigma=chart.sigma)
    )
    return Series(
        what=what,
        points=tuple(points),
        individuals=chart,
        ewma=ewma,
        spread=spread,
        signs=tuple(signs_of(what, points, chart, ewma, spread)),
    )


def cautions(series: Sequence[Series], checks: Sequence[Check]) -> Iterable[str]:
    """What a reader must know before believing the charts, in plain words."""
    for one in series:
        if isinstance(one.individuals, NotYet):
            yield f"No limits for the {one.what}: {reason_words(one.individuals.reason)}."
        elif one.individuals.rough:
            yield (
                f"The limits of the {one.what} are rough: they come from few checks, "
                f"{FEW_POINTS} make them firm. A sign now may be chance, and none proves little."
            )
    if len({check.resolution_mm for check in checks}) > 1:
        yield "These checks were read with different resolutions; coarser ones spread wider."
    coarse = [c for c in checks if c.sd_mm < c.resolution_mm]
    if coarse and len(coarse) * 2 >= len(checks):
        yield (
            f"Spreads below one graduation ({coarse[0].resolution_mm:g} mm): {len(coarse)} of "
            f"{len(checks)}. s is the ordinary one, so rounding is a good part of it: it moves in "
            "steps, and a small change stays hidden."
        )
    if checks and all(check.mean_mm is None for check in checks):
        yield (
            "These checks count from their own zero, so they show the rig's spread, not whether "
            "it reads higher than it used to. For that give the rig check a datum."
        )
