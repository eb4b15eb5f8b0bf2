"""The standard's own tables: targets across, then what is said of the axis as a whole."""

from collections.abc import Callable, Iterator

from hostctl.report.document.blocks import Column, Table
from hostctl.report.kinds.axis.result import AxisResult, FigureFound, SideFound, TargetFound
from hostctl.report.kinds.axis.words import NONE, NOT_SAID, between, length, signed

_MOST_ACROSS = 6
"""Targets beside each other; more stand below each other, as a terminal is 79 columns wide."""

_MAY_BE = "  may lie, 95 %"

Told = Callable[[AxisResult, TargetFound], str]


def at_each_target(result: AxisResult) -> Table:
    """Positions across as in ISO 230-2, or down the page where they are many."""
    rows = list(_rows(result))
    if len(result.targets) > _MOST_ACROSS:
        return Table(
            columns=(
                Column(head="i", is_number=True),
                *(Column(head=head, is_number=True) for head, _ in rows),
            ),
            rows=tuple(
                (str(one.number), *(told(result, one) for _, told in rows))
                for one in result.targets
            ),
        )
    return Table(
        columns=(
            Column(head="i", unit="mm"),
            *(Column(head=str(one.number), is_number=True) for one in result.targets),
        ),
        rows=tuple((head, *(told(result, one) for one in result.targets)) for head, told in rows),
    )


def _rows(result: AxisResult) -> Iterator[tuple[str, Told]]:
    yield "target", lambda of, one: f"{one.target_mm:g}".replace("-", "\N{MINUS SIGN}")
    for arrow, side in _sides(result):
        yield f"x̄{arrow}", _of(side, lambda of, it: signed(of, it.mean_mm))
        yield f"s{arrow}", _of(side, lambda of, it: length(of, it.sd_mm))
        yield f"4s{arrow}", _of(side, lambda of, it: length(of, 4 * it.sd_mm))
        yield f"x̄−2s{arrow}", _of(side, lambda of, it: signed(of, it.limits_mm[0]))
        yield f"x̄+2s{arrow}", _of(side, lambda of, it: signed(of, it.limits_mm[1]))
    if result.reversal is not None:
        yield "B", lambda of, one: signed(of, one.reversal_mm)
        yield "R", lambda of, one: length(of, one.repeatability_mm)
        yield "x̄", lambda of, one: signed(of, one.mean_mm)


def _sides(result: AxisResult) -> Iterator[tuple[str, Callable[[TargetFound], SideFound | None]]]:
    if result.repeatability_up is not None:
        yield "↑", lambda one: one.up
    if result.repeatability_down is not None:
        yield "↓", lambda one: one.down


def _of(
    side: Callable[[TargetFound], SideFound | None], told: Callable[[AxisResult, SideFound], str]
) -> Told:
    def cell(result: AxisResult, one: TargetFound) -> str:
        found = side(one)
        return "" if found is None else told(result, found)

    return cell


def summary(result: AxisResult) -> Table:
    """The rows that the standard lists, each with one direction, the other, and both."""
    heads = ("up ↑", "down ↓", "both")
    return Table(
        columns=(
            Column(head="mm"),
            *(Column(head=head, is_number=True) for head in heads),
        ),
        rows=tuple(_summary_rows(result)),
    )


def _summary_rows(result: AxisResult) -> Iterator[tuple[str, ...]]:
    yield from _with_interval(result, "B reversal", None, None, result.reversal)
    yield _row(result, "B̄ mean reversal", None, None, result.mean_reversal_mm, signed)
    yield from _with_interval(
        result,
        "R repeatability",
        result.repeatability_up,
        result.repeatability_down,
        result.repeatability,
    )
    of = result.accuracy
    if of is None:
        yield "E systematic", NOT_SAID, NOT_SAID, NOT_SAID
        yield "M mean", NONE, NONE, NOT_SAID
        yield "A accuracy", NOT_SAID, NOT_SAID, NOT_SAID
        return
    e = of.systematic_up_mm, of.systematic_down_mm, of.systematic_mm
    a = of.accuracy_up_mm, of.accuracy_down_mm, of.accuracy_mm
    yield _row(result, "E systematic", *e)
    yield _row(result, "M mean", None, None, of.mean_deviation_mm)
    yield _row(result, "A accuracy", *a)


def _row(
    result: AxisResult,
    head: str,
    up_mm: float | None,
    down_mm: float | None,
    both_mm: float | None,
    told: Callable[[AxisResult, float | None], str] = length,
) -> tuple[str, ...]:
    return head, *(told(result, one) for one in (up_mm, down_mm, both_mm))


def _with_interval(
    result: AxisResult, head: str, *each: FigureFound | None
) -> Iterator[tuple[str, ...]]:
    yield head, *(length(result, one.value_mm if one else None) for one in each)
    yield _MAY_BE, *(between(one.interval) if one else "" for one in each)
