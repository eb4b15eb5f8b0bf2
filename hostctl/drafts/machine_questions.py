"""A machine by questions: the next one that is due, given what is known so far.

All that only a person can know before anything moves. To take an answer back, take it and those
after it out. What is measured at the machine is asked elsewhere, with the machine at hand.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence

from hostctl.drafts.machine.head import head_questions
from hostctl.drafts.machine.known import Known
from hostctl.drafts.machine.line import line_questions
from hostctl.drafts.machine.points import point_questions
from hostctl.drafts.machine.screws import screw_questions
from hostctl.drafts.machine.space import space_questions
from hostctl.drafts.question import Question


def next_line_question(
    facts: Known, *, ports: Sequence[str] = (), taken: Collection[str] = ()
) -> Question | None:
    """The next question due before the machine can be asked what it says; None: it can be.

    ports: names of those that are there now; none is opened. taken: what machines are called
    already.
    """
    return _due(facts, line_questions(facts, ports, taken))


def next_machine_question(
    facts: Known, *, ports: Sequence[str] = (), taken: Collection[str] = ()
) -> Question | None:
    """The next question due, those about the line first; None: all is answered."""
    return next_line_question(facts, ports=ports, taken=taken) or _due(facts, _rest(facts))


def _rest(facts: Known) -> Iterator[Question]:
    yield from space_questions(facts)
    yield from screw_questions(facts)
    yield from head_questions(facts)
    yield from point_questions(facts)


def _due(facts: Known, questions: Iterable[Question]) -> Question | None:
    """What comes after one that is not answered is not looked at. An empty text is no answer."""
    return next((one for one in questions if facts.get(one.key, "") == ""), None)
