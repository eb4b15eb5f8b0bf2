"""What does not look like chance, in sentences: each figure with and without it."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.oddities.block_order import BlockDrift, Neighbours
from hostctl.metrology.oddities.normal_law import NormalLaw
from hostctl.metrology.oddities.warm_up import WarmUp
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.result.oddities import FarOff, Oddities
from hostctl.report.analysis.told.normal_law import untold
from hostctl.report.analysis.told.words import Words, listed, p_value
from hostctl.report.document.blocks import Block, Heading, Items


def out_of_the_ordinary(analysis: Analysis) -> Iterator[Block]:
    """What is odd, or that nothing is."""
    if odd := tuple(oddities_told(analysis)):
        yield Heading(text="Out of the ordinary")
        yield Items(items=odd)


def oddities_told(analysis: Analysis) -> Iterator[str]:
    """Sentences; none where nothing could have been seen."""
    words = Words.of(analysis)
    loud = [found for found in analysis.oddities if not found.quiet]
    for found in loud:
        if found.outliers:
            yield _outliers(found, words)
        yield from _order(found, words)
    if not loud and (seen := looked_for(analysis)):
        yield f"No {listed(seen, 'or')} was seen{_nor_odd_law(analysis)}."
    bounded = [found.name for found in analysis.oddities if not found.outliers_tellable]
    if bounded:
        yield (
            f"Outliers can't be told where readings fall on one or two graduations: "
            f"{listed(bounded)}."
        )
    yield from untold(analysis)


def looked_for(analysis: Analysis) -> list[str]:
    """What could have been seen, in one of the samples at least."""
    found = analysis.oddities
    could = {
        "outlier": any(one.outliers_tellable for one in found),
        "drift": any(isinstance(one.drift, BlockDrift) for one in found),
        "likeness of neighbours": any(isinstance(one.neighbours, Neighbours) for one in found),
        "warm-up": any(one.warm_ups for one in found),
    }
    return [what for what, tellable in could.items() if tellable]


def _nor_odd_law(analysis: Analysis) -> str:
    checked = [one.law for one in analysis.results if isinstance(one.law, NormalLaw)]
    normal = checked and not any(law.doubted for law in checked)
    return ", nor a departure from the normal law" if normal else ""


def _outliers(found: Oddities, words: Words) -> str:
    named = [_named(one, words) for one in found.outliers]
    return (
        f"{found.name}: far from the rest of its block: {listed(named)}. Nothing is removed; with "
        f"it {_spread(found.spread, words)}, without it "
        f"{_spread(found.spread_without_outliers, words)}. Look at that trial's record before "
        "believing either."
    )


def _named(one: FarOff, words: Words) -> str:
    which = "its zero" if one.reading is None else f"reading {one.reading}"
    point = f" at {one.point}" if one.point else ""
    return f"{words.signed(one.value_mm)} mm ({which}, block {one.block + 1}{point})"


def _spread(spread: RoundedSpread | NotYet | None, words: Words) -> str:
    return words.spread(spread) if isinstance(spread, RoundedSpread) else "no figure"


def _order(found: Oddities, words: Words) -> Iterator[str]:
    if found.drifts and isinstance(found.drift, BlockDrift):
        slope = found.drift.slope
        span = f"{words.signed(slope.low)} to {words.signed(slope.high)}"
        yield (
            f"{found.name}: readings drift within their blocks, {words.signed(slope.value)} mm a "
            f"setting ({span}; {p_value(found.drift.test.p_value)}). About that drift their "
            f"ordinary s is {words.mm(found.drift.residual_sd)} mm."
        )
    if found.neighbours_alike and isinstance(found.neighbours, Neighbours):
        kind = "alternate with" if found.neighbours_alternate else "resemble"
        yield (
            f"{found.name}: neighbouring settings {kind} each other more than chance has it (lag-1 "
            f"correlation {found.neighbours.value:+.2f}, expected {found.neighbours.expected:+.2f} "
            f"± {found.neighbours.band:.2f}), so intervals are too narrow."
        )
    for one in found.warm_ups:
        if one.trials:
            yield f"{found.name}: {warm_up_words(one)} ({p_value(one.p_value)})."


def warm_up_words(found: WarmUp) -> str:
    """What the first trials did."""
    if not found.trials:
        return f"no warm-up seen in {found.n} trials"
    first = "first trial" if found.trials == 1 else f"first {found.trials} trials"
    return f"warm-up: the {first} of {found.n} differ from the rest in {found.differs_in}"
