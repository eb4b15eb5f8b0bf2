"""A workshop in memory: a small printer, a paper store, a desk and somebody who answers."""

import asyncio
import itertools
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from bench_files import machine_file
from jumping_loop import in_jumping_time
from paper_store import PaperStore
from small_printer import SmallPrinter

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.parts.gauge import Gauge
from hostctl.config.study import Cycle, Method, Study
from hostctl.machine.machine import Machine
from hostctl.news import (
    Answer,
    News,
    Prompt,
    PromptKind,
    PromptOpened,
    ReadingKept,
    RunFinished,
    Word,
)
from hostctl.run.desk import Desk
from hostctl.run.order import RunOrder
from hostctl.run.runner import carry_out

Person = Callable[[Prompt], Answer | None]
"""Somebody who is asked. None: says nothing, the prompt stays open."""

EPOCH = datetime(2031, 5, 6, 7, 0, 0, tzinfo=UTC)


def study_file(**changes: object) -> Study:
    """A small comparison: one method, one operator, one point, three trials."""
    given: dict[str, object] = {
        "study": "small",
        "title": "A small study",
        "kind": "comparison",
        "methods": [Method(name="paper-slip", instruction="Slide the paper.")],
        "operators": ["volunteer-a"],
        "points": ["front-left"],
        "trials": 3,
        "cycle": Cycle(settle_s=1.0, countdown_s=3),
        "gauge": Gauge(),
    }
    return Study.model_validate(given | changes, strict=False)


def rig_check(**changes: object) -> Study:
    """A small rig check: one point, three trials."""
    return study_file(kind="rig-check", methods=[], operators=[], **changes)


def probe_loop(**changes: object) -> Study:
    """A small probe loop: two points, three touches each."""
    given: dict[str, object] = {
        "kind": "probe-loop",
        "methods": [],
        "operators": [],
        "points": ["front-left", "back-left"],
        "reference": "datum",
        "gauge": Gauge(kind="probe", plausible_mm=2.0),
    }
    return study_file(**(given | changes))


def said(prompt: Prompt, word: Word = Word.DONE, reading_mm: float | None = None) -> Answer:
    """An answer to `prompt`, a second after it was opened."""
    return Answer(
        prompt_id=prompt.prompt_id,
        word=word,
        reading_mm=reading_mm,
        channel="terminal",
        given_at=prompt.opened_at + timedelta(seconds=1),
    )


def obliging(readings_mm: Iterable[float] | None = None) -> Person:
    """Says done to everything, and reads off what the list says, or 0.02, -0.01, 0 in turn."""
    values_mm = iter(itertools.cycle([0.02, -0.01, 0.0]) if readings_mm is None else readings_mm)

    def answer(prompt: Prompt) -> Answer | None:
        if prompt.kind is PromptKind.READ:
            return said(prompt, Word.READING, next(values_mm))
        return said(prompt)

    return answer


@dataclass
class Workshop:
    """Everything one run needs, and what came of it."""

    study: Study
    file: MachineFile = field(default_factory=machine_file)
    printer: SmallPrinter = field(default_factory=SmallPrinter)
    store: PaperStore = field(default_factory=PaperStore)
    desk: Desk = field(default_factory=Desk)
    seed: int = 7
    news: list[News] = field(default_factory=list)
    prompts: list[Prompt] = field(default_factory=list)
    on_news: Callable[[News], None] = lambda news: None
    slept_s: float = 0.0
    machine: Machine | None = None

    def carry_out(self, person: Person, *, resume: bool = False) -> RunFinished:
        """The whole run, in jumping time."""
        return in_jumping_time(self.run(person, resume=resume))

    async def run(self, person: Person, *, resume: bool = False) -> RunFinished:
        self.printer.hands_are_in = lambda: self.desk.open_prompt is not None
        order = RunOrder(
            study=self.study,
            machine=self.file,
            study_text="the study",
            machine_text="the machine",
            seed=self.seed,
            resume=self.store.record() if resume else None,
        )
        self.machine = Machine(self.file, self.printer)
        listening = asyncio.Event()
        async with asyncio.TaskGroup() as tasks:
            people = tasks.create_task(self._people(person, listening))
            await listening.wait()
            try:
                return await carry_out(
                    order,
                    machine=self.machine,
                    store=self.store,
                    desk=self.desk,
                    now=self.now,
                    sleep=self._sleep,
                )
            finally:
                await asyncio.sleep(0)
                people.cancel()

    def now(self) -> datetime:
        return EPOCH + timedelta(seconds=asyncio.get_running_loop().time())

    async def _sleep(self, seconds: float) -> None:
        self.slept_s += seconds
        await asyncio.sleep(seconds)

    async def _people(self, person: Person, listening: asyncio.Event) -> None:
        async with self.desk.listening() as news:
            listening.set()
            async for item in news:
                self.news.append(item)
                self.on_news(item)
                if isinstance(item, PromptOpened):
                    self.prompts.append(item.prompt)
                    answer = person(item.prompt)
                    if answer is not None:
                        self.desk.answer(answer)

    # ------------------------------------------------------------ looked at by tests

    def asked(self) -> list[str]:
        """The kinds of prompts, in order, those of the whole run in brackets."""
        return [
            prompt.kind.value if prompt.place else f"({prompt.kind.value})"
            for prompt in self.prompts
        ]

    def told(self, *kinds: type) -> list[News]:
        return [item for item in self.news if isinstance(item, kinds)]

    def acknowledged(self) -> list[float]:
        return [item.reading.value_mm for item in self.news if isinstance(item, ReadingKept)]

    def hold_now(self, word: Word = Word.HOLD) -> None:
        """Somebody says it on another channel, with no prompt's id."""
        self.desk.answer(Answer(prompt_id=None, word=word, channel="phone", given_at=self.now()))
