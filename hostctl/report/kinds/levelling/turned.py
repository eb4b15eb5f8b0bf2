"""What was turned in each round of a levelling, and what it did."""

from collections.abc import Iterator, Sequence

from hostctl.deeds import share_of_a_turn
from hostctl.report.analysis.told.words import listed
from hostctl.report.document.blocks import Block, Column, Heading, Items, Paragraph, Table
from hostctl.report.kinds.levelling.result import (
    LevelResult,
    MovedFound,
    RoundFound,
    ScrewFound,
    TurnFound,
)
from hostctl.report.kinds.levelling.words import (
    is_turned,
    signed,
    untold,
    whole_degrees,
    with_minus,
)

_CUT = (
    "Less than levels it at once was advised: made the wrong way, no turn may bring bed and nozzle "
    "too close or press the plunger to its stop."
)


def round_by_round(result: LevelResult) -> Iterator[Block]:
    """Each round's tilt, its turns, and what the next round found of them."""
    yield Heading(text="Which screws, how far, which way?")
    if not any(one.turns for one in result.rounds):
        yield Paragraph(text=_nothing(result))
    else:
        yield Table(columns=_COLUMNS, rows=tuple(_rows(result.rounds)))
        yield Paragraph(text=_legend(result))
    if stay := [name for one in result.rounds for name in untold(one.turns)]:
        yield Paragraph(text=_untold(stay))
    if any(turn.cut for one in result.rounds for turn in one.turns):
        yield Paragraph(text=_CUT)
    if noticed := tuple(_noticed(result.rounds)):
        yield Paragraph(text="What was told of the rounds besides:")
        yield Items(items=noticed)


def _untold(stay: Sequence[str]) -> str:
    many = len(stay) > 1
    return (
        f"{listed(stay)} {'stay: their turns' if many else 'stays: its turn'} can't be told from "
        f"none, since none lies within {'their' if many else 'its'} ±."
    )


_COLUMNS = (
    Column(head="screw"),
    Column(head="turn"),
    Column(head="part", is_number=True),
    Column(head="±", unit="°", is_number=True),
    Column(head="rise", unit="mm", is_number=True),
    Column(head="rose", unit="mm", is_number=True),
)


def _nothing(result: LevelResult) -> str:
    if not result.screws:
        return "No machine file says where its screws are, so no turn is advised."
    return "No screw was to be turned."


def _legend(result: LevelResult) -> str:
    kept = (
        "so that the mean height stays" if result.kept == "mean" else f"so that {result.kept} stays"
    )
    measured = any(one.moved for one in result.rounds)
    rose = " Rose: by the heights of the next round." if measured else ""
    below = any(t.seen_from == "below" for one in result.rounds for t in one.turns)
    seen = "from above, but where it says from below" if below else "from above"
    return (
        f"Directions are as seen {seen}; part: of a turn. Rise: what it takes by the plane alone, "
        f"{kept}; down is negative, ± is 95 %.{rose}"
    )


def _rows(rounds: Sequence[RoundFound]) -> Iterator[tuple[str, ...]]:
    for place, one in enumerate(rounds):
        after = rounds[place + 1].moved if place + 1 < len(rounds) else ()
        yield (f"round {one.number}",)
        for turn in one.turns:
            yield _row(turn, next((m for m in after if m.screw == turn.screw), None))
        if not one.turns:
            yield "none", "", "", "", "", ""


def _row(turn: TurnFound, moved: MovedFound | None) -> tuple[str, ...]:
    known = whole_degrees(turn.half_deg) if turn.half_deg is not None else ""
    below = " (from below)" if turn.seen_from == "below" else ""
    return (
        f"{turn.screw}{below}",
        f"{whole_degrees(turn.turn_deg)}° {turn.direction}" if is_turned(turn) else "stays",
        share_of_a_turn(turn.turn_deg) if is_turned(turn) else "",
        known,
        signed(turn.raise_mm),
        signed(moved.moved_mm) if moved is not None else "",
    )


def _noticed(rounds: Sequence[RoundFound]) -> Iterator[str]:
    for one in rounds:
        yield from (f"Round {one.number}. {with_minus(says)}" for says in one.noticed)


def travel_left(result: LevelResult) -> Iterator[Block]:
    """What the machine file should say of each screw from now on."""
    known = [one for one in result.screws if _is_known(one)]
    if not known or not any(one.moved for one in result.rounds):
        return
    yield Heading(text="What to write into the machine file")
    yield Table(
        columns=(
            Column(head="screw"),
            Column(head="can_raise_mm", is_number=True),
            Column(head="can_lower_mm", is_number=True),
        ),
        rows=tuple((one.name, _left(one.can_raise_mm), _left(one.can_lower_mm)) for one in known),
    )
    yield Paragraph(
        text="The travel of each screw by the file that the run began with, less what the bed "
        "moved there since."
    )


def _is_known(screw: ScrewFound) -> bool:
    return screw.can_raise_mm is not None or screw.can_lower_mm is not None


def _left(travel_mm: float | None) -> str:
    return "" if travel_mm is None else f"{travel_mm:.2f}"
