"""A loop's formulas, with its own numbers in them."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import Estimate
from hostctl.report.document.blocks import Block, Heading, Items
from hostctl.report.document.significant import significant
from hostctl.report.kinds.looping.first import drift_way
from hostctl.report.kinds.looping.result import LoopResult, SpreadFound
from hostctl.report.kinds.looping.words import lengths, spread_words


def with_these_numbers(result: LoopResult) -> Iterator[Block]:
    """Spread, drift, limits and homing, worked out."""
    if result.spread is not None:
        yield Heading(text="The spread", level=2)
        yield Items(items=tuple(_spread(result, result.spread)), bulleted=False)
    if isinstance(result.drift.per_h, Estimate):
        yield Heading(text="The drift", level=2)
        yield Items(items=tuple(_drift(result, result.drift.per_h)), bulleted=False)
    if result.limits is not None:
        yield Heading(text="The control limits", level=2)
        yield Items(items=tuple(_limits(result)), bulleted=False)
    if isinstance(result.failures, Estimate):
        yield Heading(text="Failures", level=2)
        yield Items(items=tuple(_failures(result, result.failures)), bulleted=False)


def _spread(result: LoopResult, spread: SpreadFound) -> Iterator[str]:
    yield (
        f"{spread.n:,} touches in {spread.runs:,} runs of up to {spread.run_touches} that follow "
        "each other at one level, each about its own mean: a drift has no time to add"
    )
    degrees = spread.n - spread.runs
    yield f"degrees of freedom = {spread.n:,} − {spread.runs:,} = {degrees:,}"
    how = spread.value.how if isinstance(spread.value, Estimate) else "bound"
    yield f"{spread_words(spread, lengths(result))}: {how}"


def _drift(result: LoopResult, per_h: Estimate) -> Iterator[str]:
    way = drift_way(result.drift)
    yield f"height = mean of its point and side + b · time, by least squares {way}"
    yield (
        f"b = {significant(per_h.value, 3)} mm/h (95 %: {significant(per_h.low, 3)} to "
        f"{significant(per_h.high, 3)}), n = {per_h.n:,}; neighbours alike are allowed for"
    )
    if isinstance(result.drift.in_all, Estimate):
        yield (
            f"{significant(per_h.value, 3)} mm/h · {significant(result.drift.over_h, 3)} h = "
            f"{significant(result.drift.in_all.value, 3)} mm"
        )


def _limits(result: LoopResult) -> Iterator[str]:
    found = result.limits
    if found is None:
        return
    m = found.baseline
    yield f"centre ± t · s · √(1 + 1/m), m = {m} touches, s theirs (ISO 16269-8, prediction limits)"
    most = result.planned or result.touches
    yield (
        f"t = {significant(found.t, 4)} on {m - 1} degrees of freedom, two-sided at 0.01 shared by "
        f"the {max(most - m, 1):,} touches that may be judged"
    )


def _failures(result: LoopResult, found: Estimate) -> Iterator[str]:
    yield (
        f"{result.failed} / {found.n:,} = {significant(found.value, 3)}; exact binomial limits "
        f"{significant(found.low, 3)} to {significant(found.high, 3)} (Clopper and Pearson)"
    )
