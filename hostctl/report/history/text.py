"""A rig over time as text: has it changed, the chart, the checks, and how that was judged."""

from collections.abc import Iterable, Sequence

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.over_time.history import FEW_POINTS
from hostctl.report.document.significant import significant
from hostctl.report.document.table import table
from hostctl.report.document.wrapped import wrapped
from hostctl.report.history.chart import history_chart
from hostctl.report.history.checks import Check
from hostctl.report.history.history import LIMIT, Series, cautions
from hostctl.report.sources.rig_check import ENOUGH

MOST_ROWS = 20
HARDLY_SHOW = 5  # checks, judged by limits of their own: of four, none can lie beyond them
TO_DO = (
    "One sign alone may be chance: repeat the rig check first. If it stays, look for the cause "
    "before the next study: indicator, plunger, mount, bed, a screw gone loose."
)


def history_text(
    what: str, series: Sequence[Series], checks: Sequence[Check], left_out: Sequence[str]
) -> str:
    """The whole of it. what: names the rig or the file; series: at least one."""
    signs = [sign for one in series for sign in one.signs]
    latest = "\n".join(wrapped(sign.words, first="• ") for sign in signs)
    notes = [*cautions(series, checks), *_left_out(left_out)]
    parts = [
        wrapped(answer(what, series)),
        f"{latest}\n{wrapped(TO_DO, first='  ')}" if signs else "",
        *(f"{_title(one)}\n{history_chart(one)}" for one in series if _drawable(one)),
        _checks_table(series[0], checks) if checks else "",
        "\n".join(wrapped(sentence, first="• ") for sentence in notes),
        wrapped(_how(series)) if any(map(_drawable, series)) else "",
    ]
    return "\n\n".join(part for part in parts if part)


def answer(what: str, series: Sequence[Series]) -> str:
    """Whether it has changed, in a sentence."""
    points = series[0].points
    count = f"{len(points)} checks" if len(points) > 1 else "one check"
    if not any(map(_drawable, series)):
        more = max(2 - len(points), 0)
        wanted = f"{more} more to begin a chart, " if more else ""
        return (
            f"Whether {what} has changed can't be said yet from {count}: {wanted}"
            f"{FEW_POINTS} in all for firm limits."
        )
    when = " to ".join(dict.fromkeys(filter(None, (points[0].when, points[-1].when))))
    span = f"over {count}{f' ({when})' if when else ''}"
    signs = sorted((sign for one in series for sign in one.signs), key=lambda sign: sign.last)
    if not signs and len(points) < HARDLY_SHOW:
        return (
            f"Whether {what} has changed can't be said yet from {count}: fewer than {HARDLY_SHOW} "
            f"hardly show a sign, {FEW_POINTS} make firm limits."
        )
    if not signs:
        return f"{_capital(what)} shows no sign of change {span}{_pooled(series[0])}."
    last = points[signs[-1].last]
    dated = f" ({last.when})" if last.when else ""
    return (
        f"{_capital(what)} shows {len(signs)} {'sign' if len(signs) == 1 else 'signs'} of change "
        f"{span}, the latest at {last.name}{dated}."
    )


def _pooled(series: Series) -> str:
    if series.spread is None:
        return ""
    return f"; its spread is {significant(series.spread.pooled_sd)} mm, all checks pooled"


def _capital(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"


def _drawable(series: Series) -> bool:
    return not isinstance(series.individuals, NotYet)


def _title(series: Series) -> str:
    title = {
        "spread": "Spread of each check, mm",
        "mean": "Mean of each check from the datum, mm",
        "value": "Value of each check, mm",
    }[series.what]
    return f"{title} (● steady, ◆ a sign, · weighted average)"


def _checks_table(series: Series, checks: Sequence[Check]) -> str:
    dated = any(check.mean_mm is not None for check in checks)
    heads = ["check", "date", "n", "s", *(["limit"] if series.spread else [])]
    heads += ["mean"] if dated else []
    start = max(0, len(checks) - MOST_ROWS)
    rows = [
        _row(series, index, check, dated) for index, check in enumerate(checks) if index >= start
    ]
    above = f"The latest {MOST_ROWS} of {len(checks)} checks, mm\n" if start else ""
    return above + table([*heads, ""], rows, right=range(2, len(heads)))


def _row(series: Series, index: int, check: Check, dated: bool) -> list[str]:
    mean = "" if check.mean_mm is None else f"{check.mean_mm:+.4f}".replace("-", "−")
    return [
        check.name,
        f"{check.at:%Y-%m-%d}",
        str(check.n),
        f"{check.sd_mm:.4f}",
        *([f"{series.spread.upper[index]:.4f}"] if series.spread else []),
        *([mean] if dated else []),
        "◆" if index in series.wild else "",
    ]


def _left_out(names: Sequence[str]) -> Iterable[str]:
    if names:
        yield (
            f"Left out, broken off with fewer than {ENOUGH} readings (too few for a standard "
            f"deviation that limits can be set by) or without a spread: {', '.join(names)}."
        )


def _how(series: Sequence[Series]) -> str:
    spread = (
        "Spread: limit = pooled s √F of the check's and the pooled degrees of freedom at "
        f"{100 * LIMIT:.2f} % (NIST/SEMATECH e-Handbook 2.2.3), s as read, rounding included. "
        if series[0].spread is not None
        else ""
    )
    return (
        f"{spread}Order in time: individuals and moving ranges, limits at 3 mean moving ranges / "
        "1.128, a step beyond 3.267 mean moving ranges (ISO 7870-2); four run rules as ISO 8258 "
        "listed them (beyond 3 standard deviations, nine on one side, six rising or falling, two "
        "of three beyond 2). Weighted average: weight 0.3 for the newest, 3 standard deviations "
        "wide, e-Handbook 6.3.2.4. A steady rig shows signs too: by simulation 2 histories of 20 "
        "checks in 10 have one, and half of those of a year of weekly checks."
    )
