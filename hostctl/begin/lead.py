"""Led from one thing to the next: what is not known yet is asked or measured, in order.

Whatever goes wrong (an answer that can't be, a cable pulled, a motion called off) ends in the
same step begun anew, in the one before it, or in leaving; what is known is on the disk by then.
"""

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import replace

from hostctl.begin.bench.bench import Again, Bench
from hostctl.begin.bench.fitting import Moved
from hostctl.begin.bench.looking import look
from hostctl.begin.bench.steps import OF_THE_INDICATOR, STEPS, Step
from hostctl.begin.facts import Facts
from hostctl.begin.notes import Notes
from hostctl.begin.talk import BackAsked, NotNow, Talk
from hostctl.drafts.question import Question, Value, Way
from hostctl.errors import HostctlError, PortError, StoreError

ONCE_MORE = Question(
    key="lead.once_more",
    text="Once more?",
    why="What is known so far is kept. `back` goes to the step before, `leave` ends here for now.",
    kind="choice",
    ways=(Way(word="again", text="this step from its beginning", value=True),),
    suggested="again",
)

ELSEWHERE = replace(
    ONCE_MORE,
    ways=(
        *ONCE_MORE.ways,
        Way(word="port", text="its port goes by another name now: say which", value=False),
    ),
)
"""Where the port can't be opened. All that was measured is kept."""

Next = Callable[[Facts], Question | None]
"""The next question about the machine that needs no machine; None: none is due."""


async def led(talk: Talk, bench: Bench, notes: Notes, line: Next, machine: Next) -> None:
    """Until all is known for a machine file.

    line: what is asked before the port is opened; machine: after it. Raises LeaveAsked, and
    StoreError where what is known can't be kept.
    """
    while (due := await _next(talk, bench, notes, line, machine)) is not None:
        await _carried_out(talk, bench, notes, due)


async def _next(talk: Talk, bench: Bench, notes: Notes, line: Next, machine: Next) -> Step | None:
    """The next step at the machine, once all that is asked before it was answered."""
    while True:
        question = line(notes.facts)
        if question is None and "dialect" not in notes.facts:
            await _carried_out(talk, bench, notes, LOOK)
            continue
        question = question or machine(notes.facts)
        if question is None:
            return next((step for step in STEPS if not step.is_done(notes.facts)), None)
        await _asked(talk, notes, question)


async def _asked(talk: Talk, notes: Notes, question: Question) -> None:
    try:
        notes.know({question.key: await talk.ask(_with_what_was_said(question, notes))})
    except BackAsked:
        if last := list(notes.facts):
            notes.take_back(last[-1])
        else:
            await talk.say("This is the first question.")


def _with_what_was_said(question: Question, notes: Notes) -> Question:
    """Taken back, an answer is suggested as it was given."""
    was = notes.taken_back.get(question.key)
    if was is None:
        return question
    named = (way.word for way in question.ways if way.value == was)
    said = f"{was:g}" if isinstance(was, float) else str(was)
    return replace(question, suggested=next(named, said))


async def _carried_out(talk: Talk, bench: Bench, notes: Notes, step: Step) -> None:
    """The step, once; whoever leads looks again at what is due after it. Raises LeaveAsked."""
    asked = _Counting(talk)
    bench.talk = asked
    await talk.title(step.title)
    await talk.say(step.told)
    try:
        await step.carry_out(bench, notes)
    except Moved as moved:
        await talk.say(str(moved))
        notes.forget(*OF_THE_INDICATOR)
    except Again as why:
        await talk.say(str(why))
        await _once_more(talk, notes, step)
    except NotNow:
        await _once_more(talk, notes, step)
    except BackAsked:
        if asked.answers == 0:
            await _to_the_step_before(talk, notes, step)
        else:
            await talk.say("This step from its beginning.")
    except StoreError:
        raise
    except HostctlError as fault:
        await talk.say(str(fault))
        await _once_more(
            talk, notes, step, ELSEWHERE if isinstance(fault, PortError) else ONCE_MORE
        )


async def _once_more(talk: Talk, notes: Notes, step: Step, question: Question = ONCE_MORE) -> None:
    try:
        if not await talk.ask(question):
            notes.forget("port")
    except BackAsked:
        await _to_the_step_before(talk, notes, step)


async def _to_the_step_before(talk: Talk, notes: Notes, step: Step) -> None:
    """Its facts are forgotten, so that it is due again; before the first one the last question."""
    if step in STEPS and (at := STEPS.index(step)) > 0:
        notes.forget(*STEPS[at - 1].knows, *step.knows)
    elif notes.facts:
        notes.forget(*step.knows)
        notes.forget(list(notes.facts)[-1])


LOOK = Step(
    title="What the controller says",
    told="The port is opened; nothing moves.",
    done_by="dialect",
    knows=("dialect",),
    carry_out=look,
)


class _Counting:
    """A talk that counts what was answered."""

    def __init__(self, talk: Talk) -> None:
        self._talk = talk
        self.answers = 0

    async def say(self, text: str) -> None:
        """As the talk."""
        await self._talk.say(text)

    async def title(self, text: str) -> None:
        """As the talk."""
        await self._talk.title(text)

    async def ask(self, question: Question) -> Value:
        """As the talk."""
        value = await self._talk.ask(question)
        self.answers += 1
        return value

    async def ask_to_move(self, question: Question, moves: str) -> Value:
        """As the talk."""
        value = await self._talk.ask_to_move(question, moves)
        self.answers += 1
        return value

    async def countdown(self, what: str, seconds: int) -> None:
        """As the talk."""
        await self._talk.countdown(what, seconds)

    @asynccontextmanager
    async def moving(self, what: str, stop: Callable[[], None]) -> AsyncIterator[None]:
        """As the talk."""
        async with self._talk.moving(what, stop):
            yield
