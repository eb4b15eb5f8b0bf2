"""What to know before believing a loop."""

from collections.abc import Iterator

from hostctl.metrology.basis.estimate import NotYet
from hostctl.report.document.blocks import Block, Heading, Items, Role
from hostctl.report.kinds.looping.result import LoopResult
from hostctl.report.kinds.looping.words import lengths, order_words, share_words

_ITS_OWN = (
    "All this is how the probe agrees with itself. How far its zero lies from the nozzle, and "
    "whether that stays, is another question: a tie or a paper slip answers it."
)
_HOMING = (
    "The axes homed in between, which shifts all touches up to the next homing alike. Intervals "
    "of heights and of hours leave that out."
)
_DRIFT_IN_HOMING = "Drift from one homing to the next counts as homing's scatter here."
_HEATED = (
    "The bed was warmed and cooled in turn: drift and warm-up are not those of a loop left alone."
)
_FEW = "So few touches tell little; a night of them tells more."
_FAILING = (
    "A probe of which 5 % of touches or more may fail will fail one day where it matters: see to "
    "its switch, its cable and what it touches before it is left alone. Keep to the maker's manual."
)
_LEAST, _MUCH = 25, 0.05


def before_believing(result: LoopResult) -> Iterator[Block]:
    """The cautions."""
    yield Heading(text="Before believing the loop")
    yield Items(items=tuple(_cautions(result)), role=Role.CAUTION)


def _cautions(result: LoopResult) -> Iterator[str]:
    yield from result.notes
    for point in result.points:
        if point.shows is not None:
            yield (
                f"At {point.point} touches of one level are not independent: "
                f"{order_words(point.shows, lengths(result))}. Intervals of its height and of its "
                "whole spread are too narrow."
            )
    if result.touches < _LEAST:
        yield _FEW
    if result.failed and not isinstance(result.failures, NotYet):
        high = result.failures.high
        if high >= _MUCH:
            yield f"{_FAILING} Here up to {share_words(high)} may."
    if result.homing is not None and not result.homed_for_each:
        yield _HOMING
        if result.drift.shows:
            yield _DRIFT_IN_HOMING
    if result.phases:
        yield _HEATED
    yield _ITS_OWN
