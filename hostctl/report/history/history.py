"""A series of checks held against its own limits."""

from collections.abc import Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason
from hostctl.metrology.over_time.history import (
    EwmaChart,
    IndividualsChart,
    SpreadChart,
    ewma_chart,
    individuals_chart,
    spread_chart,
)
from hostctl.report.document.reasons import Withheld
from hostctl.report.history.result import (
    BelowGraduation,
    Check,
    History,
    Limits,
    Point,
    Series,
    Standing,
    What,
)
from hostctl.report.history.signs import signs_of

LIMIT = 0.9973  # as rare a false alarm as three standard deviations: one check in 370
HARDLY_SHOW = 5  # checks, judged by limits of their own: of four, none can lie beyond them


def history_of_checks(
    subject: str, checks: Sequence[Check], left_out: Sequence[str], *, baseline: int | None
) -> History:
    """The spreads of at least one check, and their means where each counts from a datum."""
    series = [spread_series(checks, baseline), mean_series(checks, baseline)]
    return history_of(subject, [one for one in series if one is not None], checks, left_out)


def history_of_values(subject: str, points: Sequence[Point], *, baseline: int | None) -> History:
    """At least one value, one a check, that somebody kept."""
    return history_of(subject, [value_series(points, baseline)])


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


def history_of(
    subject: str,
    series: Sequence[Series],
    checks: Sequence[Check] = (),
    left_out: Sequence[str] = (),
) -> History:
    """What the series, at least one, say together; checks: those they are of."""
    return History(
        subject=subject,
        standing=_standing(series),
        checks=tuple(checks),
        left_out=tuple(left_out),
        series=tuple(series),
        resolutions_differ=len({check.resolution_mm for check in checks}) > 1,
        below_graduation=_below_graduation(checks),
        own_zeros=bool(checks) and all(check.mean_mm is None for check in checks),
    )


def _standing(series: Sequence[Series]) -> Standing:
    if all(one.limits is None for one in series):
        return Standing.NO_LIMITS
    if any(one.signs for one in series):
        return Standing.SIGNS
    return Standing.TOO_FEW_CHECKS if len(series[0].points) < HARDLY_SHOW else Standing.STEADY


def _below_graduation(checks: Sequence[Check]) -> BelowGraduation | None:
    coarse = [check for check in checks if check.sd_mm < check.resolution_mm]
    if not coarse or len(coarse) * 2 < len(checks):
        return None
    return BelowGraduation(checks=len(coarse), resolution_mm=coarse[0].resolution_mm)


def _series(
    what: What, points: Sequence[Point], baseline: int | None, spread: SpreadChart | None
) -> Series:
    values = [point.value for point in points]
    if len(values) < 2 or (baseline or 2) < 2:
        few = NotYet(reason=Reason(Withheld.TOO_FEW_CHECKS, least=2), needs_n=2)
        return _as_series(what, points, few, None, None)
    chart = individuals_chart(values, baseline=baseline)
    ewma = (
        None
        if isinstance(chart, NotYet)
        else ewma_chart(values, target=chart.centre, sigma=chart.sigma)
    )
    return _as_series(what, points, chart, ewma, spread)


def _as_series(
    what: What,
    points: Sequence[Point],
    chart: IndividualsChart | NotYet,
    ewma: EwmaChart | None,
    spread: SpreadChart | None,
) -> Series:
    why = chart if isinstance(chart, NotYet) else None
    return Series(
        what=what,
        points=tuple(points),
        limits=None if isinstance(chart, NotYet) else _limits(chart),
        why_no_limits=None if why is None else why.reason,
        needs_checks=None if why is None else why.needs_n,
        weighted_averages=None if ewma is None else ewma.averages,
        spread_limits=None if spread is None else spread.upper,
        pooled_sd=None if spread is None else spread.pooled_sd,
        pooled_df=None if spread is None else spread.pooled_df,
        signs=tuple(signs_of(what, points, chart, ewma, spread)),
    )


def _limits(chart: IndividualsChart) -> Limits:
    return Limits(
        centre=chart.centre,
        sigma=chart.sigma,
        lower=chart.lower,
        upper=chart.upper,
        moving_range_mean=chart.moving_range_mean,
        moving_range_upper=chart.moving_range_upper,
        rough=chart.rough,
    )
