"""What is asked where gaps are to be true: the gap wanted, and what ties indicator and nozzle."""

from collections.abc import Iterator

from hostctl.config.machine import Machine
from hostctl.config.parts.tie import PRINCIPLE, TieBy
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.study.answers import (
    USUAL_TARGET_MM,
    Answers,
    highest_plate_mm,
    methods_of,
    number_of,
    tallest_block_mm,
    ties_possible,
)
from hostctl.drafts.trade_words import meanings

_TIES = {
    TieBy.TOUCH: "the cold, clean nozzle comes down on a metal plate; a lamp tells of the touch",
    TieBy.FEELERS: "the thickest leaf that goes under the nozzle, and the thinnest that does not",
    TieBy.GAUGE_BLOCK: "the bed is turned up until a gauge block under the nozzle just touches it",
}


def tie_questions(answers: Answers, machine: Machine) -> Iterator[Question]:
    """The gap wanted, then the tie."""
    yield Question(
        key="target_mm",
        text="Which gap is wanted?",
        why="Settings are judged about it. 0.10 mm is common for a first layer (common practice, "
        "no source).",
        kind="number",
        unit="mm",
        least=0.01,
        most=2.0,
        suggested=f"{USUAL_TARGET_MM:.2f}",
        words=meanings("true gap"),
    )
    yield Question(
        key="on_target_within_mm",
        text="How far off may a method's mean gap be and still be on target?",
        why="The mean of many settings, not each of them. The tolerance itself is a usual choice.",
        kind="number",
        unit="mm",
        least=0.001,
        most=1.0,
        suggested=_typed(number_of(answers, "tolerance.within_mm")),
        words=meanings("on target"),
    )
    yield _by(answers, machine)
    match answers.get("tie.by"):
        case TieBy.TOUCH.value:
            yield from _touch(answers, machine)
        case TieBy.FEELERS.value:
            yield _blade_error()
            yield _feel()
        case TieBy.GAUGE_BLOCK.value:
            yield from _block(machine)


def _by(answers: Answers, machine: Machine) -> Question:
    """A way of its own is suggested: one that none of the methods goes by."""
    possible = ties_possible(machine)
    used = {method.goes_by for method in methods_of(answers)}
    independent = [by for by in possible if PRINCIPLE[by] not in used]
    return Question(
        key="tie.by",
        text="How is the indicator tied to the nozzle?",
        why="Of a method that goes by the same it says nothing. Before wiring anything read "
        "`hostctl reference tie` and the maker's manual.",
        kind="choice",
        ways=tuple(Way(word=by.value, text=_TIES[by], value=by.value) for by in possible),
        suggested=(independent or possible)[0].value,
        words=meanings("tie", "gauge block"),
    )


def _touch(answers: Answers, machine: Machine) -> Iterator[Question]:
    most_mm = highest_plate_mm(machine)
    yield Question(
        key="tie.plate_mm",
        text="How thick is the metal plate that the nozzle touches?",
        why="Measure it; it is taken off each gap. 0: the bed itself is bare metal. Plate and lamp "
        "have their own battery.",
        kind="number",
        unit="mm",
        least=0.0,
        most=most_mm,
        suggested="0.5" if most_mm >= 0.5 else "",
    )
    plate = answers.get("tie.plate_mm")
    plate_mm = float(plate) if isinstance(plate, int | float) else 0.0
    yield Question(
        key="tie.stands_mm",
        text="How high do plate, clip and leads stand above the bed, all together?",
        why="The head goes sideways that much higher. Rather too much than too little.",
        kind="number",
        unit="mm",
        least=plate_mm,
        most=most_mm,
        suggested=_typed(min(max(5.0, plate_mm), most_mm)),
    )


def _typed(number: float) -> str:
    """So that it comes to just the same, and no bound is missed by a digit."""
    return repr(number).removesuffix(".0")


def _blade_error() -> Question:
    return Question(
        key="tie.blade_error_mm",
        text="How far off may a leaf's thickness be, plus or minus?",
        why="The maker's limit of error; it widens what the tie can tell.",
        kind="number",
        unit="mm",
        least=0.0005,
        most=0.1,
        suggested="0.005",
        words=meanings("limit of error"),
    )


def _feel() -> Question:
    return Question(
        key="tie.feel_mm",
        text="How finely can touching be felt, plus or minus?",
        why="Of the hand that does it, by judgement; it widens what the tie can tell.",
        kind="number",
        unit="mm",
        least=0.0005,
        most=0.1,
        suggested="0.01",
    )


def _block(machine: Machine) -> Iterator[Question]:
    tallest_mm = tallest_block_mm(machine)
    yield Question(
        key="tie.block_mm",
        text="How high is the gauge block?",
        why=f"It stands on the block. Up to {tallest_mm:g} mm goes under this nozzle.",
        kind="number",
        unit="mm",
        least=0.1,
        most=tallest_mm,
        suggested="1" if tallest_mm >= 1 else "",
        words=meanings("gauge block"),
        check=_above_nothing,
    )
    yield Question(
        key="tie.block_error_mm",
        text="How far off may the block's height be, plus or minus?",
        why="The limit of error of its grade (ISO 3650), on its certificate.",
        kind="number",
        unit="mm",
        least=0.00001,
        most=0.01,
        suggested="0.0002",
        words=meanings("limit of error"),
    )
    yield _feel()


def _above_nothing(value: Value) -> None:
    if isinstance(value, int | float) and value <= 0:
        raise Unclear("A block has some height.")
