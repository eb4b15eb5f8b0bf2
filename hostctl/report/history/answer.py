"""Whether a rig has changed, in a sentence."""

from typing import assert_never

from hostctl.metrology.over_time.history import FEW_POINTS
from hostctl.report.document.significant import significant
from hostctl.report.history.history import HARDLY_SHOW
from hostctl.report.history.result import History, Series, Standing


def answer(history: History) -> str:
    """Steady, changed, or not to be said yet and why."""
    subject, points = history.subject, history.series[0].points
    count = f"{len(points)} checks" if len(points) > 1 else "one check"
    not_yet = f"Whether {subject} has changed can't be said yet from {count}:"
    match history.standing:
        case Standing.NO_LIMITS:
            more = max(2 - len(points), 0)
            wanted = f"{more} more to begin a chart, " if more else ""
            return f"{not_yet} {wanted}{FEW_POINTS} in all for firm limits."
        case Standing.TOO_FEW_CHECKS:
            return (
                f"{not_yet} fewer than {HARDLY_SHOW} hardly show a sign, {FEW_POINTS} make firm "
                "limits."
            )
        case Standing.STEADY:
            over = _over(history.series[0], count)
            return f"{_capital(subject)} shows no sign of change {over}{_pooled(history)}."
        case Standing.SIGNS:
            return f"{_capital(subject)} shows {_signs(history, count)}."
        case never:
            assert_never(never)


def _signs(history: History, count: str) -> str:
    signs = [sign for one in history.series for sign in one.signs]
    points = history.series[0].points
    last = points[max(sign.last for sign in signs)]
    dated = f" ({last.when})" if last.when else ""
    return (
        f"{len(signs)} {'sign' if len(signs) == 1 else 'signs'} of change "
        f"{_over(history.series[0], count)}, the latest at {last.name}{dated}"
    )


def _over(series: Series, count: str) -> str:
    first, last = series.points[0].when, series.points[-1].when
    when = " to ".join(dict.fromkeys(filter(None, (first, last))))
    return f"over {count}{f' ({when})' if when else ''}"


def _pooled(history: History) -> str:
    pooled_sd = history.series[0].pooled_sd
    if pooled_sd is None:
        return ""
    return f"; its spread is {significant(pooled_sd)} mm, all checks pooled"


def _capital(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"
