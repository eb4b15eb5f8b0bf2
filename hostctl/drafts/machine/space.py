"""Where the nozzle may go, what stands up from the bed, how the bed is heated."""

from collections.abc import Iterator

from hostctl.config.machine import Machine
from hostctl.drafts.machine.known import Axis, Known, bounds, figure, number
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.trade_words import meanings

FARTHEST_MM = 2000.0
"""Beyond it it is a slip of the pen (choice ours)."""
SHORTEST_MM = 50.0
"""Of an axis on which there is anything to measure (choice ours)."""

_ENDS = {
    "x": ("to the left", "to the right", "x"),
    "y": ("to the front", "to the back", "y"),
    "z": ("down", "up", "z"),
}


def space_questions(known: Known) -> Iterator[Question]:
    """Travel of each axis, the highest thing on the bed, the bed's heater."""
    for axis in ("x", "y", "z"):
        yield _from(axis)
        yield _to(known, axis)
    yield _highest(known)
    yield _mains()


def _from(axis: Axis) -> Question:
    way, _, name = _ENDS[axis]
    why = (
        f"The lowest {name} that the nozzle may have: the maker's manual says it as travel or "
        "build volume. 0 on most machines; below 0 where the manual says so."
    )
    if axis == "z":
        why = (
            "0 is where the nozzle meets the bed. Its travel starts there, unless the maker's "
            "manual says less."
        )
    return Question(
        key=f"travel.{axis}.from_mm",
        text=f"How far {way} may the nozzle go, in {name}?",
        why=why,
        kind="number",
        unit="mm",
        least=-20.0 if axis == "z" else -FARTHEST_MM,
        most=0.0 if axis == "z" else FARTHEST_MM,
        suggested="0",
        words=meanings("travel", axis),
    )


def _to(known: Known, axis: Axis) -> Question:
    _, way, name = _ENDS[axis]

    def check(value: Value) -> None:
        low_mm = number(known, f"travel.{axis}.from_mm")
        if float(str(value)) < low_mm + SHORTEST_MM:
            raise Unclear(
                f"The {name} travel starts at {figure(low_mm)} mm: its other end is at "
                f"{figure(low_mm + SHORTEST_MM)} mm or more."
            )

    return Question(
        key=f"travel.{axis}.to_mm",
        text=f"How far {way} may the nozzle go, in {name}?",
        why="From the maker's manual. Never more than the real travel: beyond it the head is "
        "driven against its end. Less does no harm.",
        kind="number",
        unit="mm",
        most=FARTHEST_MM,
        words=meanings("travel", axis),
        check=check,
    )


def _highest(known: Known) -> Question:
    least, most = bounds("highest_point_mm")
    lift_mm = Machine.model_fields["lift_mm"].default

    def check(value: Value) -> None:
        needs_mm = float(str(value)) + lift_mm
        if needs_mm > (top_mm := number(known, "travel.z.to_mm")):
            raise Unclear(
                f"The head passes {figure(lift_mm)} mm above it, at {figure(needs_mm)} mm, and "
                f"the z travel ends at {figure(top_mm)} mm: go back and look at that again."
            )

    return Question(
        key="highest_point_mm",
        text="How far does the highest thing stand up above the bed's surface?",
        why="Clips, screw heads, a rim: the head goes sideways above it. Measure with a ruler, and "
        "round up; 0 where the bed is bare.",
        kind="number",
        unit="mm",
        least=least,
        most=most,
        words=meanings("bed", "clip"),
        check=check,
    )


def _mains() -> Question:
    return Question(
        key="heat.mains_bed",
        text="Is the bed heated by mains voltage?",
        why="The maker's manual says so, or a label beside the bed's cable. At a bed that is, or "
        "may be, nothing is ever wired to nozzle or bed: no leads, no contact light.",
        kind="choice",
        ways=(
            Way(word="no", text="it has a low voltage of its own, or no heater", value=False),
            Way(word="yes", text="it is heated by mains voltage", value=True),
            Way(word="unknown", text="not known; it is treated like yes", value=None),
        ),
        words=meanings("mains voltage", "bed"),
    )
