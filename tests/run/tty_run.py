"""A whole run over a real pseudo-terminal to a simulated board, one person answering."""

import asyncio
import itertools
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path

from paper_store import PaperStore
from tty_board import TtyBoard, board_on_a_tty
from workshop import EPOCH, Person

from hostctl.config.study import Cycle, Study
from hostctl.news import HoldBegan, News, Prompt, PromptOpened, RunFinished
from hostctl.run.desk import Desk
from hostctl.run.runner import RunOrder, carry_out
from hostctl.store.rows import RunRecord

AT_ONCE = Cycle(settle_s=0.0, countdown_s=0)


@dataclass
class TtyRun:
    """One run and what came of it."""

    study: Study
    described: str
    keep_on_open: bool = False
    store: PaperStore = field(default_factory=PaperStore)
    desk: Desk = field(default_factory=Desk)
    prompts: list[Prompt] = field(default_factory=list)
    holds: list[str] = field(default_factory=list)
    wire: str = ""
    on_news: Callable[[News, TtyBoard], None] = lambda news, board: None

    async def carry_out(
        self, folder: Path, person: Person, *, resume: RunRecord | None = None
    ) -> tuple[RunFinished, TtyBoard]:
        ticks = itertools.count()
        async with board_on_a_tty(
            folder, self.described, keep_on_open=self.keep_on_open, probe=None
        ) as board:
            order = RunOrder(
                study=self.study,
                machine=board.machine.config,
                study_text="",
                machine_text="",
                seed=7,
                resume=resume,
            )
            people = asyncio.create_task(self._people(person, board))
            await asyncio.sleep(0)
            try:
                finished = await carry_out(
                    order,
                    machine=board.machine,
                    store=self.store,
                    desk=self.desk,
                    now=lambda: EPOCH + timedelta(milliseconds=next(ticks)),
                )
            finally:
                await asyncio.sleep(0)
                people.cancel()
            self.wire = board.link.wire_text()
            return finished, board

    async def _people(self, person: Person, board: TtyBoard) -> None:
        async with self.desk.listening() as news:
            async for item in news:
                self.on_news(item, board)
                if isinstance(item, HoldBegan):
                    self.holds.append(item.reason)
                    assert len(self.holds) < 9, self.holds
                if isinstance(item, PromptOpened):
                    self.prompts.append(item.prompt)
                    answer = person(item.prompt)
                    if answer is not None:
                        self.desk.answer(answer)
