"""A study by questions from the phone: the next question, what is to be foreseen, and the file.

Nothing is kept between two requests: the page sends every answer as it was typed, oldest first, and
is told the next question, or what is wrong with the last answer. So a phone that sleeps loses
nothing, and going back is sending fewer. What is kept in the end is made here of the answers, never
by the phone. The rooms behind it are loaded with the first question that anybody asks.
"""

import asyncio
from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from hostctl.channels.page.acts import TAKEN, Outcome
from hostctl.channels.view.data import Json
from hostctl.config.load import study_from
from hostctl.config.machine import Machine
from hostctl.config.yaml_text import Source
from hostctl.errors import HostctlError

if TYPE_CHECKING:
    from hostctl.drafts.ahead.rig import RigKnown
    from hostctl.drafts.question import Question, Value

MOST_ANSWERS = 80
LONGEST_ANSWER = 1000
LARGEST_DRAFT = 64 * 1024
MOST_STUDIES = 200
"""What a phone may add to; whoever is at the host may keep as many as they like."""
NO_ANSWERS = "that is no list of answers"
NOT_DONE = "not every question is answered yet"

Answered = Sequence[tuple[str, str]]
"""Each question's key, and what was typed."""
RigOf = Callable[[str], Awaitable[Json | None]]
"""Given a machine's name: what its last rig check found, as `RigKnown` has it; None: no check."""


async def no_rig_known(machine: str) -> Json | None:
    """Where there is no database."""
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Workbench:
    """What drafts are made with.

    machines: as their files say now.  taken: names that studies have.  rig_of: see there.
    keep: a study file by its name and text, so that it is offered at once.  Raises HostctlError.
    """

    machines: Callable[[], Mapping[str, Machine]]
    taken: Callable[[], frozenset[str]]
    rig_of: RigOf
    keep: Callable[[str, str], Awaitable[None]]


class Drafting:
    """Of all machines. One step at a time, in a thread, so that no machine waits for it."""

    def __init__(self, bench: Workbench) -> None:
        self._bench = bench
        self._one_at_a_time = asyncio.Lock()

    async def step(self, machine: str, said: Json) -> Json | Outcome:
        """The next question, or all that is to be seen before the study is kept."""
        answered = _answered(said.get("answers"))
        if answered is None:
            return Outcome(400, NO_ANSWERS)
        found = await self._stepped(machine, answered)
        return found if isinstance(found, Outcome) else found.as_json()

    async def keep(self, machine: str, said: Json) -> Outcome:
        """Keep the study that the answers make. Nothing moves by it."""
        answered = _answered(said.get("answers"))
        if answered is None:
            return Outcome(400, NO_ANSWERS)
        if len(self._bench.taken()) >= MOST_STUDIES:
            return Outcome(409, f"there are {MOST_STUDIES} studies already; move some away first")
        step = await self._stepped(machine, answered)
        if isinstance(step, Outcome):
            return step
        if step.question is not None:
            return Outcome(409, step.unclear or NOT_DONE)
        try:
            await self._bench.keep(step.study, step.file)
        except HostctlError as why:
            return Outcome(409, str(why))
        return TAKEN

    async def _stepped(self, name: str, answered: Answered) -> "Step | Outcome":
        machine = self._bench.machines().get(name)
        if machine is None:
            return Outcome(409, "its file is not in use any more")
        rig = await self._bench.rig_of(name)
        async with self._one_at_a_time:
            try:
                return await asyncio.to_thread(_step, answered, machine, rig, self._bench.taken())
            except HostctlError as why:
                return Outcome(409, str(why))


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """How far the answers lead.  question: that is due; None: all are answered.  taken: how many
    answers were understood.  unclear: why the next of them was not.  The rest is there at the end.
    """

    taken: int
    question: "Question | None" = None
    unclear: str = ""
    study: str = ""
    foreseen: tuple[str, ...] = ()
    file: str = ""

    def as_json(self) -> Json:
        """As the page takes it."""
        asked = _shown(self.question) if self.question is not None else None
        return {
            "taken": self.taken,
            "question": asked,
            "unclear": self.unclear,
            "study": self.study,
            "foreseen": list(self.foreseen),
            "file": self.file,
        }


def _shown(question: "Question") -> Json:
    """Without what an answer comes to, which is not the page's matter."""
    return {
        "key": question.key,
        "text": question.text,
        "why": question.why,
        "kind": question.kind,
        "ways": [{"word": way.word, "text": way.text} for way in question.ways],
        "unit": question.unit,
        "suggested": question.suggested,
        "words": dict(question.words or {}),
    }


def _step(
    answered: Answered, machine: Machine, rig_data: Json | None, taken: frozenset[str]
) -> Step | Outcome:
    """Raises HostctlError where the file that the answers make would not pass."""
    from hostctl.channels.view.data import from_data
    from hostctl.drafts.ahead.rig import RigKnown
    from hostctl.drafts.question import Unclear, understood
    from hostctl.drafts.study_questions import next_question, why_no_study

    if (why := why_no_study(machine)) is not None:
        return Outcome(409, why)
    rig = from_data(RigKnown, rig_data) if rig_data is not None else None
    answers: dict[str, Value] = {}
    for key, text in answered:
        question = next_question(answers, machine, rig, taken)
        if question is None or question.key != key:
            break  # the machine's file changed meanwhile: what comes after it is asked again
        try:
            answers[key] = understood(question, text)
        except Unclear as why_not:
            return Step(taken=len(answers), question=question, unclear=str(why_not))
    question = next_question(answers, machine, rig, taken)
    if question is not None:
        return Step(taken=len(answers), question=question)
    return _whole(answers, machine, rig)


def _whole(answers: "dict[str, Value]", machine: Machine, rig: "RigKnown | None") -> Step:
    from hostctl.drafts.foreseen import foreseen, told
    from hostctl.drafts.study_file import study_text

    text = study_text(answers, machine)
    study = study_from(Source("the study that these answers make", text))
    return Step(
        taken=len(answers),
        study=study.study,
        foreseen=tuple(told(foreseen(study, machine, rig))),
        file=text,
    )


def _answered(sent: object) -> Answered | None:
    """None where it is no list of keys and texts, or too long a one."""
    if not isinstance(sent, list) or len(sent) > MOST_ANSWERS:
        return None
    pairs = []
    for one in sent:
        match one:
            case [str(key), str(text)] if max(len(key), len(text)) <= LONGEST_ANSWER:
                pairs.append((key, text))
            case _:
                return None
    return pairs
