"""A rig over time as a document: has it changed, the chart, the checks, how that was judged."""

from collections.abc import Iterable

from hostctl.report.document.blocks import (
    Block,
    Column,
    Document,
    Figure,
    Heading,
    Items,
    Paragraph,
    Role,
    Table,
)
from hostctl.report.document.question import Question
from hostctl.report.history.answer import answer
from hostctl.report.history.cautions import cautions
from hostctl.report.history.chart import history_chart
from hostctl.report.history.history import LIMIT
from hostctl.report.history.result import Check, History, Series, What

MOST_ROWS = 20
TO_DO = (
    "One sign alone may be chance: repeat the rig check first. If it stays, look for the cause "
    "before the next study: indicator, plunger, mount, bed, a screw gone loose."
)
_DRAWN: dict[What, str] = {
    "spread": "Spread of each check, mm",
    "mean": "Mean of each check from the datum, mm",
    "value": "Value of each check, mm",
}


def history_document(history: History, _explained: bool) -> Document:
    """The whole of it."""
    return Document(title="The rig over time", blocks=tuple(_blocks(history)))


HISTORY = Question(name="history", version=1, result=History, document=history_document)


def _blocks(history: History) -> Iterable[Block]:
    yield Paragraph(text=answer(history), role=Role.ANSWER)
    if signs := [sign.words for one in history.series for sign in one.signs]:
        yield Items(items=tuple(signs), then=TO_DO)
    drawable = [one for one in history.series if one.limits is not None]
    for one in drawable:
        says = f"{_DRAWN[one.what]} (● steady, ◆ a sign, · weighted average)"
        yield Figure(drawing=history_chart(one), says=says, name=f"checks-{one.what}")
    if history.checks:
        yield from _checks(history.series[0], history.checks)
    if notes := tuple(cautions(history)):
        yield Items(items=notes, role=Role.CAUTION)
    if drawable:
        yield Paragraph(text=_how(history))


def _checks(series: Series, checks: tuple[Check, ...]) -> Iterable[Block]:
    start = max(0, len(checks) - MOST_ROWS)
    if start:
        yield Heading(text=f"The latest {MOST_ROWS} of {len(checks)} checks, mm", level=2)
    has_datum = any(check.mean_mm is not None for check in checks)
    numbers = ["n", "s", *(["limit"] if series.spread_limits else [])]
    numbers += ["mean"] if has_datum else []
    yield Table(
        columns=(
            Column(head="check"),
            Column(head="date"),
            *(Column(head=head, is_number=True) for head in numbers),
            Column(head=""),
        ),
        rows=tuple(
            _row(series, index, check, has_datum)
            for index, check in enumerate(checks)
            if index >= start
        ),
    )


def _row(series: Series, index: int, check: Check, has_datum: bool) -> tuple[str, ...]:
    mean = "" if check.mean_mm is None else f"{check.mean_mm:+.4f}".replace("-", "−")
    return (
        check.name,
        f"{check.at:%Y-%m-%d}",
        str(check.n),
        f"{check.sd_mm:.4f}",
        *([f"{series.spread_limits[index]:.4f}"] if series.spread_limits else []),
        *([mean] if has_datum else []),
        "◆" if index in series.wild else "",
    )


def _how(history: History) -> str:
    spread = (
        "Spread: limit = pooled s √F of the check's and the pooled degrees of freedom at "
        f"{100 * LIMIT:.2f} % (NIST/SEMATECH e-Handbook 2.2.3), s as read, rounding included. "
        if history.series[0].spread_limits is not None
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
