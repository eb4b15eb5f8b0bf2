"""A machine by questions: the next one that is due, given what is known so far.

All that only a person can know before anything moves. To take an answer back, take it and those
after it out. What is measured at the machine is asked elsewhere, with the machine at hand.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from hostctl.drafts.machine.head import head_questions
from hostctl.drafts.machine.known import Known
from hostctl.drafts.machine.line import line_questions
from hostctl.drafts.machine.points import point_questions
from hostctl.drafts.machine.screws import screw_questions
from hostctl.drafts.machine.space import space_questions
from hostctl.drafts.question import Question, Unclear


def next_line_question(
    facts: Known, *, ports: Sequence[str] = (), taken: Collection[str] = ()
) -> Question | None:
    """The next question due before the machine can be asked what it says; None: it can be.

    ports: names of those that are there now; none is opened. taken: what machines are called
    already.
    """
    questions = line_questions(ports, taken)
    return next((one for one in questions if one.key not in facts), None)


def next_machine_question(
    facts: Known, *, ports: Sequence[str] = (), taken: Collection[str] = ()
) -> Question | None:
    """The next question due, those about the line first; None: all is answered.

    An answer that does not go with the others any more is asked for again: a point that the
    plunger, once its place was measured, does not reach.
    """
    due = (_due(facts, one) for one in _rest(facts))
    return next_line_question(facts, ports=ports, taken=taken) or next(filter(None, due), None)


def _rest(facts: Known) -> Iterator[Question]:
    yield from space_questions(facts)
    yield from screw_questions(facts)
    yield from head_questions(facts)
    yield from point_questions(facts)


def _due(facts: Known, question: Question) -> Question | None:
    """The question, and why it is asked again if it is; None: its answer holds."""
    if question.key not in facts:
        return question
    try:
        if question.check is not None:
            question.check(facts[question.key])
    except Unclear as why:
        return replace(question, why=f"What was said does not hold any more. {why}")
    return None
