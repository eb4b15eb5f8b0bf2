"""Which ways of setting the gap are compared: offered ones, or in own words, until it is enough."""

from collections.abc import Iterator

from hostctl.config.machine import Machine
from hostctl.config.parts.tie import GoesBy
from hostctl.config.together import why_no_touch
from hostctl.drafts.question import Question, Unclear, Value, Way
from hostctl.drafts.study.answers import (
    ENOUGH,
    FEELERS,
    LEAF_MM,
    LIGHT,
    MOST_METHODS,
    OWN,
    PAPER,
    Answers,
    as_name,
    is_name,
    judges_gap,
    methods_of,
)
from hostctl.drafts.trade_words import meanings
from hostctl.records import TIE_METHOD

_OFFERED = {
    PAPER: "one sheet of paper slides under the nozzle with a light drag",
    FEELERS: "a metal leaf of known thickness slides under it with a light drag",
    LIGHT: "a light with its own battery comes on as clean nozzle and bare metal touch",
}
_GOES_BY = {
    GoesBy.PAPER: "the drag of a paper slip",
    GoesBy.FEELERS: "a feeler blade",
    GoesBy.CONTACT: "an electrical contact",
    GoesBy.GAUGE_BLOCK: "a gauge block",
    GoesBy.PROBE: "the machine's own probe",
    GoesBy.OTHER: "anything else",
}


def method_questions(answers: Answers, machine: Machine) -> Iterator[Question]:
    """For each method which, and what is not known of it yet."""
    for number in range(1, MOST_METHODS + 1):
        at = f"methods.{number}"
        yield _which(at, number, answers, machine)
        which = answers.get(at)
        if which == ENOUGH:
            return
        if which == FEELERS:
            yield _leaf(at)
        if which == OWN:
            yield from _own(at, answers)


def _which(at: str, number: int, answers: Answers, machine: Machine) -> Question:
    taken = [answers.get(f"methods.{earlier}") for earlier in range(1, number)]
    refused = why_no_touch(machine)
    left = [
        word
        for word in _OFFERED
        if word not in taken and not (word == LIGHT and refused is not None)
    ]
    ways = [Way(word=word, text=_OFFERED[word], value=word) for word in left]
    ways.append(Way(word=OWN, text="a way of your own, in your own words", value=OWN))
    if number > 1:
        ways.append(Way(word=ENOUGH, text="no more: these are all", value=ENOUGH))
    why = "Each person sets the gap by each method in turn. Two or three are enough to begin with."
    if refused is not None and number == 1:
        what, _ = refused
        why += f" A contact light is not offered, as {what}: no nozzle is wired there."
    elif LIGHT in left:
        why += " A contact light has its own battery: never wire it to the printer's electronics."
    return Question(
        key=at,
        text="Which way of setting the gap is tried?" if number == 1 else "Which other way?",
        why=why,
        kind="choice",
        ways=tuple(ways),
        suggested=_suggested(number, left),
        words=meanings("method", "feeler gauge", "contact light"),
    )


def _suggested(number: int, left: list[str]) -> str:
    """Two of those offered, then enough."""
    if number > 2:
        return ENOUGH
    return left[0] if left else OWN


def _leaf(at: str) -> Question:
    return Question(
        key=f"{at}.leaf_mm",
        text="How thick is the leaf?",
        why="It is told with each setting. 0.10 mm is common for a first layer.",
        kind="number",
        unit="mm",
        least=0.02,
        most=1.0,
        suggested=f"{LEAF_MM:.2f}",
        words=meanings("feeler gauge"),
    )


def _own(at: str, answers: Answers) -> Iterator[Question]:
    earlier = [method.name for method in methods_of(answers)]

    def check_name(value: Value) -> None:
        _check_name(str(value), earlier)

    yield Question(
        key=f"{at}.name",
        text="What is this way called, in one word?",
        why="As it goes on record: lower-case letters, digits and hyphens, at most 40.",
        check=check_name,
    )
    if judges_gap(answers):
        yield _goes_by(at)
        yield _meant(at)
    yield Question(
        key=f"{at}.instruction",
        text="What is the person told to do?",
        why="One sentence, shown with every setting; say by what they know that the gap is right. "
        "At most 300 letters.",
        check=_check_instruction,
    )


def _check_name(name: str, earlier: list[str]) -> None:
    if not is_name(name):
        like = as_name(name) or "my-way"
        raise Unclear(f"'{name[:40]}' is no name for a record: type it like {like}.")
    if name in earlier:
        raise Unclear(f"'{name}' is named already: give this one a name of its own.")
    if name in (*_OFFERED, TIE_METHOD):
        raise Unclear(f"'{name}' stands for something else here: give this one another name.")


def _check_instruction(value: Value) -> None:
    text = " ".join(str(value).split())
    if len(text) > 300:
        raise Unclear(f"It has {len(text)} letters: 300 are the most.")
    if not text.isprintable():
        raise Unclear("There is something in it that can't be printed: type it anew.")


def _goes_by(at: str) -> Question:
    return Question(
        key=f"{at}.goes_by",
        text="What tells the person that the gap is right?",
        why="A tie that goes by the same says nothing of how far off the method is.",
        kind="choice",
        ways=tuple(Way(word=by.value, text=text, value=by.value) for by, text in _GOES_BY.items()),
        words=meanings("tie", "gauge block"),
    )


def _meant(at: str) -> Question:
    return Question(
        key=f"{at}.meant_mm",
        text="Which gap is it meant to set?",
        why="Settings by it are held against this. It may be another than the gap you want.",
        kind="number",
        unit="mm",
        least=0.01,
        most=2.0,
        suggested="0.10",
    )
