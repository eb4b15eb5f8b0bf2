"""A station with its messages, and a phone at the same broker, as the tests use them."""

import asyncio
import json
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import aiomqtt
from a_deed import A_DEED
from a_place import A_PLACE

from hostctl.channels.messages.arriving.reception import SHOWN_AT_LEAST_S
from hostctl.channels.messages.channel import MessagesChannel
from hostctl.channels.messages.connection.client_ids import FILE_NAME, ClientIds
from hostctl.channels.messages.connection.urgent import SAYS_SO
from hostctl.channels.messages.outgoing import kept_news
from hostctl.config.host import Messages
from hostctl.news import Answer, News, Prompt, PromptKind, RunStarted
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run.station import Station
from hostctl.store.outbox import Outbox
from hostctl.store.rows import NewReading, NewRun, StoredReading
from hostctl.store.store import Store

MACHINE = "workshop-220"
TREE = f"hostctl/{MACHINE}"
PATIENCE_S = 60.0


def now() -> datetime:
    return datetime.now(UTC)


def place(trial: int = 2) -> Place:
    return replace(A_PLACE, trial=trial, trials_done=trial - 1, trials_total=6)


def prompt(
    prompt_id: str, kind: PromptKind = PromptKind.SET, *, graduations: bool = False
) -> Prompt:
    return Prompt(
        prompt_id=prompt_id,
        deed=A_DEED[kind],
        text="Set the gap at front-left with the paper slip.",
        detail="",
        moves_next="The head lifts.",
        place=place(),
        opened_at=now(),
        resolution_mm=0.01 if kind in (PromptKind.READ, PromptKind.ZERO) else None,
        typed_in_graduations=graduations,
    )


def running() -> RunStarted:
    return RunStarted(run=1, study="rig-check", machine=MACHINE, trials_total=6, resumed=False)


def a_run() -> NewRun:
    return NewRun(
        study="rig-check",
        title="Rig check",
        kind="rig-check",
        machine=MACHINE,
        reference="first",
        study_text="",
        machine_text="",
        seed=1,
        started_at=now(),
        program="test",
    )


def a_reading(value_mm: float, *, trial: int = 2) -> NewReading:
    return NewReading(
        place=place(trial),
        is_zero=False,
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.01,
            taken_at=now(),
            source="typed",
            at=Position(x_mm=30, y_mm=30, z_mm=5),
            temperatures=Temperatures(),
        ),
        prompted_at=None,
        answered_at=None,
        channel="page",
    )


async def until(true: Callable[[], bool]) -> None:
    """Wait until it is so. It fails by the clock only when it would never be."""
    async with asyncio.timeout(PATIENCE_S):
        while not true():  # noqa: ASYNC110 - nothing tells of what arrives elsewhere
            await asyncio.sleep(0.005)


@dataclass
class Phone:
    """Somebody else at the broker, who sees everything."""

    client: aiomqtt.Client
    seen: list[tuple[str, bytes, bool]] = field(default_factory=list)

    async def look(self) -> None:
        async for message in self.client.messages:
            payload = message.payload
            assert isinstance(payload, bytes)
            self.seen.append((message.topic.value, payload, message.retain))

    def said(self, name: str) -> list[Any]:
        """The JSON payloads on a topic below the machine, those kept by the broker apart."""
        wanted = f"{TREE}/{name}"
        return [json.loads(payload) for topic, payload, kept in self.seen if topic == wanted]

    def plain(self, name: str) -> list[bytes]:
        return [payload for topic, payload, _ in self.seen if topic == f"{TREE}/{name}"]

    def refusals(self) -> list[str]:
        return [event["text"] for event in self.said("event") if event["event"] == "refused"]

    def shows(self, prompt_id: str | None) -> Callable[[], bool]:
        return lambda: (
            bool(self.said("prompt")) and self.said("prompt")[-1]["prompt_id"] == prompt_id
        )

    async def answer(self, payload: object, *, retain: bool = False) -> None:
        await self.send("answer", payload, retain=retain)

    async def answer_until_it_counts(self, payload: object, asked: asyncio.Task[Answer]) -> Answer:
        """A moment after the prompt was seen here, and again where that was too soon.

        The station counts from the broker's receipt, which may come later than the prompt does.
        """
        await asyncio.sleep(SHOWN_AT_LEAST_S)  # the broker's time is real
        while not asked.done():
            before = len(self.refusals())
            await self.answer(payload)
            await until(lambda: asked.done() or len(self.refusals()) > before)  # noqa: B023
        return asked.result()

    async def command(self, payload: object, *, retain: bool = False) -> None:
        await self.send("command", payload, retain=retain)

    async def send(self, name: str, payload: object, *, retain: bool = False) -> None:
        raw = payload if isinstance(payload, bytes | str) else json.dumps(payload)
        await self.client.publish(f"{TREE}/{name}", raw, qos=1, retain=retain)


@asynccontextmanager
async def phone_at(port: int, **more: Any) -> AsyncIterator[Phone]:
    async with aiomqtt.Client("localhost", port, **more) as client:
        phone = Phone(client)
        await client.subscribe("hostctl/#", qos=1)
        looking = asyncio.get_running_loop().create_task(phone.look())
        try:
            yield phone
        finally:
            looking.cancel()


@dataclass
class AtTheStation:
    """What a test needs of a served station."""

    station: Station
    store: Store
    outbox: Outbox
    said: list[str]
    channel: MessagesChannel
    tasks: asyncio.TaskGroup
    serving: asyncio.Task[None]
    hearing: asyncio.Task[None]  # of the urgent connection
    open: list[asyncio.Task[Answer]] = field(default_factory=list)

    def is_connected(self) -> bool:
        """As was said last; of one loss two things may be said, the second at any time."""
        return self._of_the_connection()[-1:] == [True]

    def is_away(self) -> bool:
        return self._of_the_connection()[-1:] == [False]

    def _of_the_connection(self) -> list[bool]:
        told = [(text.startswith("connected to"), text.endswith("mended")) for text in self.said]
        return [connected for connected, trouble in told if connected or trouble]

    def ask(self, what: Prompt) -> asyncio.Task[Answer]:
        self.open.append(self.tasks.create_task(self.station.desk.ask(what)))
        return self.open[-1]

    async def keep(self, new: NewReading) -> StoredReading:
        """Store a reading and tell of it, as a run does."""
        if not await self.store.runs():
            await self.store.add_run(a_run())
        stored = await self.store.add_reading(new)
        self.tell(kept_news(stored))
        return stored

    async def serve_again(self) -> None:
        """Once it has ended: one channel can't be served twice at a time."""
        await asyncio.wait({self.serving})
        self.serving = self.tasks.create_task(self.channel.serve())

    async def hear_again(self) -> None:
        await asyncio.wait({self.hearing})
        self.hearing = self.tasks.create_task(self.channel.urgent.serve())

    def tell(self, *news: News) -> None:
        for item in news:
            self.station.desk.tell(item)


@asynccontextmanager
async def station_served(
    folder: Path, settings: Messages, *, studies: tuple[str, ...] = ("rig-check",)
) -> AsyncIterator[AtTheStation]:
    said: list[str] = []

    def say(text: str) -> None:
        """What the machine's own connection says; the urgent one says the same of its own."""
        if not text.startswith(SAYS_SO):
            said.append(text)

    station = Station(MACHINE, now=now, studies=lambda: studies)
    async with Store.opened(folder / "hostctl.sqlite") as store, asyncio.TaskGroup() as tasks:
        outbox = await store.outbox(MACHINE, most_waiting=settings.most_waiting)
        ids = ClientIds(folder / FILE_NAME, say)
        channel = MessagesChannel(station, settings, now=now, outbox=outbox, say=say, ids=ids)
        serving = tasks.create_task(channel.serve())
        hearing = tasks.create_task(channel.urgent.serve())
        at = AtTheStation(station, store, outbox, said, channel, tasks, serving, hearing)
        try:
            yield at
        finally:
            for task in (at.serving, at.hearing, *at.open):
                task.cancel()
