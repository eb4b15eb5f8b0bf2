"""A study by questions: the next one that is due, given the answers so far.

The same at the terminal and on the phone. Later questions follow from earlier answers; to take an
answer back, take it and those after it out.
"""

from collections.abc import Iterator

from hostctl.config.machine import Machine
from hostctl.drafts.ahead.able import finest_tolerance_mm
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.question import Question, Unclear, Value, Way, words_in
from hostctl.drafts.study.answers import (
    Answers,
    apart_from,
    as_name,
    by_probe,
    is_name,
    judges_gap,
    judges_rig,
    methods_of,
    ties_possible,
)
from hostctl.drafts.study.methods import method_questions
from hostctl.drafts.study.rig import rig_point, rig_trials
from hostctl.drafts.study.ties import tie_questions
from hostctl.drafts.study.trials import trials_question
from hostctl.drafts.told import told_mm
from hostctl.drafts.trade_words import meanings

_GAUGES = (
    Way(word="indicator", text="the dial indicator; somebody types what it shows", value="typed"),
    Way(word="probe", text="the machine's own touch probe; nothing is typed", value="probe"),
)
_NAMED = "Names are lower-case letters, digits and hyphens, at most 40"


def why_no_study(machine: Machine) -> str | None:
    """Why no study can be asked for, in one sentence; None: it can."""
    if machine.indicator is None and machine.probe is None:
        return (
            f"Nothing on machine '{machine.machine}' takes a reading: add 'indicator:' or 'probe:' "
            "to its file."
        )
    return None


def next_question(
    answers: Answers,
    machine: Machine,
    rig: RigKnown | None = None,
    taken: frozenset[str] = frozenset(),
) -> Question | None:
    """The next question due; None: all is answered.

    rig: what the last rig check found. taken: names that studies have already. The machine must be
    one of which `why_no_study` says None.
    """
    due = (q for q in _questions(answers, machine, rig, taken) if q.key not in answers)
    return next(due, None)


def _questions(
    answers: Answers, machine: Machine, rig: RigKnown | None, taken: frozenset[str]
) -> Iterator[Question]:
    """Each that applies, in order; what comes after one that is not answered is not looked at."""
    yield _judged(machine, rig)
    if judges_rig(answers):
        yield rig_point(machine)
        yield from _gauge(answers, machine)
        yield rig_trials()
    else:
        yield from _compared(answers, machine, rig)
    yield _title(answers)
    yield _study(answers, taken)


def _compared(answers: Answers, machine: Machine, rig: RigKnown | None) -> Iterator[Question]:
    yield from method_questions(answers, machine)
    yield _operators()
    yield _points(machine)
    yield from _gauge(answers, machine)
    yield _tolerance(rig)
    if judges_gap(answers):
        yield from tie_questions(answers, machine)
    if "trials" not in answers:  # what each number shows is not worked out for nothing
        yield trials_question(answers, machine, rig)


_JUDGED = (
    Way(word="spread", text="how repeatably the gap is set, and how best", value="spread"),
    Way(word="gap", text="that, and how far off the true gap is", value="gap"),
    Way(word="rig", text="what the rig alone scatters, nothing being set", value="rig"),
)


def _judged(machine: Machine, rig: RigKnown | None) -> Question:
    """What the machine can do, and whether a rig check is still to be made."""
    possible = [way for way in _JUDGED if way.value != "gap" or ties_possible(machine)]
    why = "How widely settings scatter needs no more than what reads."
    if len(possible) > 2:
        why += " How far off they are needs a tie too, which is more work, at the nozzle."
    if rig is None:
        why += " No rig check is known yet: it takes a few minutes, and is taken out of the rest."
    return Question(
        key="judged",
        text="What is to be judged?",
        why=why,
        kind="choice",
        ways=tuple(possible),
        suggested="spread",
        words=meanings("spread", "true gap", "tie", "rig"),
    )


def _operators() -> Question:
    return Question(
        key="operators",
        text="Whose hands set the gap?",
        why="Names as they go on record, with commas between. A pseudonym does, and is kinder. Two "
        "people or more show whether it depends on the hands.",
        suggested="volunteer-a, volunteer-b",
        words=meanings("pseudonym"),
        check=_check_operators,
    )


def _check_operators(value: Value) -> None:
    names = words_in(str(value))
    wrong = next((name for name in names if not is_name(name)), None)
    if wrong is not None:
        raise Unclear(f"'{wrong[:40]}' is no name for a record. {_like(wrong, 'volunteer-a')}")
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise Unclear(f"'{twice}' is named twice: give each a name of their own.")
    if not 1 <= len(names) <= 12:
        raise Unclear("Name 1 to 12 people, with commas between.")


def _like(wrong: str, otherwise: str) -> str:
    return f"{_NAMED}, like {as_name(wrong) or otherwise}."


def _points(machine: Machine) -> Question:
    names = [point.name for point in machine.points]
    return Question(
        key="points",
        text="At which points of the bed?",
        why="Names from the machine file, with commas between, or all. Each point has the trials "
        "of every method and person: more points take longer, and show less by accident.",
        kind="several",
        ways=tuple(
            Way(word=point.name, text=f"x {point.x_mm:g}, y {point.y_mm:g} mm", value=point.name)
            for point in machine.points
        ),
        suggested=", ".join(names if len(names) < 3 else [names[0], names[-1]]),
        words=meanings("point"),
    )


def _gauge(answers: Answers, machine: Machine) -> Iterator[Question]:
    """What takes the reading, where there is a choice, and how finely."""
    if machine.indicator and machine.probe and not judges_gap(answers):
        yield Question(
            key="gauge.kind",
            text="What takes the reading?",
            why="Both are on this machine. The probe needs nobody to read it; a rig check says how "
            "finely each repeats.",
            kind="choice",
            ways=_GAUGES,
            suggested="indicator",
        )
    if not by_probe(answers, machine):
        yield Question(
            key="gauge.resolution_mm",
            text="How much is one graduation of the indicator?",
            why="It stands on the dial. Readings are treated as rounded to it.",
            kind="number",
            unit="mm",
            least=0.0001,
            most=0.1,
            suggested="0.01",
            words=meanings("graduation"),
        )


def _tolerance(rig: RigKnown | None) -> Question:
    why = (
        "Settings are judged by it. ±0.05 mm is half of the 0.10 mm that a first layer forgives "
        "(common practice, no source)."
    )
    if rig is not None:
        finest = told_mm(finest_tolerance_mm(rig))
        why += (
            f" By its last check, run {rig.run}, this rig can judge about ±{finest} at the finest."
        )
    return Question(
        key="tolerance.within_mm",
        text="How far off may a setting be and still be good enough, plus or minus?",
        why=why,
        kind="number",
        unit="mm",
        least=0.001,
        most=1.0,
        suggested="0.05",
        words=meanings("tolerance", "setting"),
    )


def _title(answers: Answers) -> Question:
    return Question(
        key="title",
        text="What is the study called?",
        why="For people: it stands above the report and in lists. At most 120 letters.",
        suggested=_suggested_title(answers),
        check=_check_title,
    )


def _suggested_title(answers: Answers) -> str:
    """The methods in words, as far as they go into a title."""
    if judges_rig(answers):
        return "Rig check, nothing adjusted"
    names = [method.name.replace("-", " ") for method in methods_of(answers)]
    if len(names) == 1:
        what = f"Setting the gap by {names[0]}"
    else:
        what = f"{', '.join(names[:-1])} or {names[-1]}"
    if judges_gap(answers):
        what = f"{what}: the true gap"
    what = f"{what[0].upper()}{what[1:]}"
    return what if len(what) <= 100 else f"{len(names)} ways of setting the gap"


def _check_title(value: Value) -> None:
    text = " ".join(str(value).split())
    if len(text) > 120:
        raise Unclear(f"It has {len(text)} letters: 120 are the most.")
    if not text.isprintable():
        raise Unclear("There is something in it that can't be printed: type it anew.")


def _study(answers: Answers, taken: frozenset[str]) -> Question:
    titled = as_name(str(answers.get("title", ""))) or "comparison"
    named = "rig-check" if judges_rig(answers) else titled

    def check(value: Value) -> None:
        name = str(value)
        if not is_name(name):
            raise Unclear(f"'{name[:40]}' is no name for a study. {_like(name, 'paper-or-feeler')}")
        if name in taken:
            raise Unclear(
                f"There is a study '{name}' already: take {apart_from(taken, name)}, say."
            )

    return Question(
        key="study",
        text="By which short name is it run?",
        why="It is typed after `hostctl run`, stands in every record and names the file. "
        f"{_NAMED}.",
        suggested=apart_from(taken, named),
        check=check,
    )
