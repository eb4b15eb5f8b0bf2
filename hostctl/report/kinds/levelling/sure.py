"""How sure a levelling is, and what to know before believing it."""

from collections.abc import Iterator, Sequence

from hostctl.report.analysis.told.words import counted, listed
from hostctl.report.document.blocks import Block, Heading, Items, Paragraph, Role
from hostctl.report.document.significant import significant
from hostctl.report.kinds.levelling.result import LevelResult, WaitFound
from hostctl.report.kinds.levelling.words import (
    freedom_words,
    is_turned,
    none_is_told,
    untold,
)

_GAP = (
    "Level is not near or far: how wide the gap is under the nozzle was not measured. After "
    "screws were turned, set it anew."
)
_WHERE = "All this is of the points that were measured; between and beyond them the bed may differ."
_COLD = (
    "Measured with the bed cold. A bed changes its shape as it warms: level it as warm as it "
    "prints."
)
_HANDS = (
    "A screw moves the bed against the nozzle. Before turning, see that the nozzle stands well "
    "clear; afterwards home all axes anew and come down slowly, a hand at the mains switch. Keep "
    "to the maker's manual."
)
_ONCE = (
    "Each point was read once, so how heights repeat is taken from how far they lie off the plane: "
    "warp counts as doubt."
)


def how_sure(result: LevelResult) -> Iterator[Block]:
    """How well heights are known, and what that makes of the tilt."""
    yield Heading(text="How sure is that?")
    last, plane = result.last, result.last.plane
    if plane.sd_mm is None:
        yield Paragraph(text="Nothing here tells how heights repeat, so no doubt is stated.")
    else:
        known = f"a height is known to {significant(plane.sd_mm)} mm"
        freedom = f"standard uncertainty, {freedom_words(plane.df)} degrees of freedom"
        yield Paragraph(text=f"{_how_often(result)}: {known} ({freedom}).")
    if result.rig_mm is not None:
        yield Paragraph(
            text=f"A tilt of up to {significant(result.rig_mm)} mm is too little for this rig to "
            f"tell from level, measured at {counted(len(last.heights), 'point')} as here."
        )
    if result.wait is not None:
        yield Paragraph(text=_waited(result.wait))


def _how_often(result: LevelResult) -> str:
    last = result.last
    points = counted(len(last.heights), "point")
    times = counted(result.repeats, "time")
    read = f" to {result.resolution_mm:g} mm" if result.resolution_mm else ""
    each = f"at least {times}" if result.repeats > 1 else "once"
    return f"{points}, each read {each}{read}"


def _waited(wait: WaitFound) -> str:
    how = "until it was still" if wait.still else "and it was not still even then"
    drift = (
        f"; its last drift was {significant(wait.drift_mm)} mm" if wait.drift_mm is not None else ""
    )
    return (
        f"The bed, at {wait.bed_c:g} °C, was waited for {wait.waited_s / 60:.0f} min, {how}{drift}."
    )


def before_believing(result: LevelResult) -> Iterator[Block]:
    """The cautions."""
    yield Heading(text="Before believing it")
    yield Items(items=tuple(_cautions(result)), role=Role.CAUTION)


def _cautions(result: LevelResult) -> Iterator[str]:
    yield from result.notes
    if result.repeats == 1 and result.last.plane.sd_mm is not None:
        yield _ONCE
    if stay := untold(result.last.turns):
        yield _untold(result, stay)
    if any(is_turned(turn) for one in result.rounds for turn in one.turns):
        yield _HANDS
        yield _GAP
    yield _WHERE
    if result.last.at is not None and result.wait is None:
        yield _COLD


def _untold(result: LevelResult, stay: Sequence[str]) -> str:
    which = "any turn" if none_is_told(result.last.turns) else f"the turn of {listed(stay)}"
    return (
        f"These heights can't tell {which} from none. Read each point at least twice, or more "
        "points, before anything is turned by them."
    )
