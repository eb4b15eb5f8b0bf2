"""When the loop was to stop: its looks as they were decided, its control limits, its halts."""

from collections.abc import Iterator

from hostctl.metrology.looping.control_limit import BASELINE
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.document.significant import Lengths
from hostctl.report.kinds.looping.result import HeldFound, LookFound, LoopResult
from hostctl.report.kinds.looping.words import (
    correlation_words,
    lengths,
    share_words,
    touches_words,
)


def when_to_stop(result: LoopResult) -> Iterator[Block]:
    """Looks, limits and what they did."""
    mm = lengths(result)
    if result.looks:
        yield Heading(text="Looks at how well the spread is known")
        yield _looks(result.looks, mm)
        yield Paragraph(text=_together(result.looks))
    yield Heading(text="Control limits")
    yield Paragraph(text=_limits(result))
    if result.held:
        yield Items(items=tuple(_held(one, mm) for one in result.held))
    if result.course.halts:
        yield Heading(text="Where it stood still", level=2)
        yield Items(
            items=tuple(
                f"Before touch {one.touch:,} ({one.at:%Y-%m-%d %H:%M} UTC): {one.why}"
                for one in result.course.halts
            )
        )


def _together(looks: tuple[LookFound, ...]) -> str:
    """What holds of all their intervals."""
    levels = looks[0].levels
    said = (
        "Known to: half the interval's width, of s; at most "
        f"{share_words(looks[0].known_to)} are wanted. Looks come at fixed counts. "
    )
    if levels is None:
        said += (
            "Those at one point from one side share the risk of 5 %: all of them hold together, "
            "at each point and side by itself. "
        )
    else:
        whose = f", at {levels} points and sides," if levels > 1 else ""
        said += (
            f"All of them{whose} share the risk of 5 %: each interval is wider than one look's "
            "would be, and with 95 % all of them hold together. "
        )
    if _began_anew(looks):
        said += "After a hold or a stop looks began anew, and hold so by themselves. "
    return said + "Where drift shows or neighbours are alike, nothing is stated."


def _began_anew(looks: tuple[LookFound, ...]) -> bool:
    """Whether a look of the same number came twice at one point and side."""
    return len({(one.point, one.side, one.look) for one in looks}) < len(looks)


def _looks(looks: tuple[LookFound, ...], mm: Lengths) -> Table:
    said = {place: _against(one, mm) for place, one in enumerate(looks)}
    return Table(
        columns=(
            Column(head="look"),
            Column(head="at"),
            Column(head="n", is_number=True),
            Column(head="s", unit="mm", is_number=True),
            Column(head="interval", unit="mm"),
            Column(head="known to", is_number=True),
            Column(head=""),
        ),
        rows=tuple(_look(one, mm) for one in looks),
        notes={place: words for place, words in said.items() if words},
    )


def _look(one: LookFound, mm: Lengths) -> tuple[str, ...]:
    interval = ""
    if one.low_mm is not None and one.high_mm is not None:
        interval = f"{mm.mm(one.low_mm)} to {mm.mm(one.high_mm)}"
    return (
        f"{one.look} of {one.looks}",
        f"{one.point}, {one.side}" if one.side else one.point,
        f"{one.n:,}",
        mm.mm(one.s_mm) if one.s_mm is not None else "",
        interval,
        "" if one.half_width is None else f"{100 * one.half_width:.2f} %",
        _came_of_it(one),
    )


def _came_of_it(one: LookFound) -> str:
    if one.verdict == "known":
        return "enough"
    if one.look == one.looks:
        return "not enough"
    return "went on"


def _against(one: LookFound, mm: Lengths) -> str:
    """What spoke against stating a spread; empty where one was."""
    if one.drift_mm is not None:
        return f"drift shows, {mm.signed(one.drift_mm)} mm by then"
    if one.likeness is not None:
        return f"neighbours are alike, {correlation_words(one.likeness)}"
    return "it could not be told yet" if one.s_mm is None else ""


def _limits(result: LoopResult) -> str:
    found = result.limits
    if result.phases:
        return "None: the bed was warmed and cooled in turn, so its height was meant to change."
    if found is None:
        return f"None: more than {BASELINE} touches of one level are needed to set them."
    said = (
        f"The first {found.baseline} touches of each level set its limits; by chance a touch "
        f"breaks them in one loop of a hundred. Of {touches_words(found.judged)} after them "
    )
    lies = "lies" if found.beyond == 1 else "lie"
    said += f"{found.beyond:,} {lies} beyond." if found.beyond else "none lies beyond."
    if found.moved:
        said += (
            " The centre drifted away from where it began by more than chance explains; limits "
            "follow it."
        )
    return said


def _held(one: HeldFound, mm: Lengths) -> str:
    drifted = "; its centre had drifted before" if one.moved else ""
    return (
        f"Touch {one.touch:,} of the loop, touch {one.trial:,} at {one.point}: "
        f"{mm.signed(one.value_mm)} mm, beyond {mm.signed(one.lower_mm)} to "
        f"{mm.signed(one.upper_mm)} mm about {mm.signed(one.centre_mm)} mm{drifted}. The run was "
        f"held ({one.at:%Y-%m-%d %H:%M} UTC)."
    )
