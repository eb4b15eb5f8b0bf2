"""The run's own hand in the store: readings, marks and events, and telling people of them.

A reading must be on disk before anybody is told. An event that can't be written (the disk is
full) is kept in mind and written as soon as it can be.
"""

import asyncio
import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import replace
from datetime import datetime
from typing import Any, Protocol

from hostctl.errors import StoreError, ThermalFault
from hostctl.machine.controller.troubles import Troubles
from hostctl.news import (
    Answer,
    AnswerRefused,
    DecisionKept,
    Moving,
    Prompt,
    ReadingKept,
    TrialMarked,
)
from hostctl.records import Place, TieContact
from hostctl.run.desk import Desk
from hostctl.run.procedures.procedure import Decision
from hostctl.run.record.answered import as_data, in_words
from hostctl.run.record.decided import CARRIED_OUT, in_the_study, place_as_data
from hostctl.store.rows import (
    ANSWERED,
    PLUNGER_SIGN,
    THERMAL_FAULT,
    TIE_CONTACT,
    NewEvent,
    NewMark,
    NewReading,
    NewRun,
    StoredReading,
)

MOST_IN_MIND = 400
"""Events kept in mind while the store can't take them; what exceeds it is counted.

Refused answers may take half of it, so that a flood of them crowds nothing else out.
"""
MOST_DATA_IN_MIND = 4096
"""Letters of data that a waiting event keeps once another comes: a wire log is long."""


class Keeper(Protocol):
    """Where it is kept; `hostctl.store.store.Store` is one."""

    async def add_run(self, new: NewRun) -> int: ...
    async def add_reading(self, new: NewReading) -> StoredReading: ...
    async def add_mark(self, new: NewMark) -> None: ...
    async def add_event(self, new: NewEvent) -> None: ...


class Journal:
    """Keeps one run."""

    def __init__(
        self,
        store: Keeper,
        desk: Desk,
        now: Callable[[], datetime],
        run: int,
        readings: int = 0,
    ) -> None:
        """readings: how many of this run are on disk already."""
        self.run = run
        self._readings = readings
        self.now = now
        self._store = store
        self._desk = desk
        self._in_mind: list[NewEvent] = []
        self._uncounted = 0
        self._thermal_fault: ThermalFault | None = None
        self._pen = asyncio.Lock()  # two who note at once must not write the same event twice

    async def keep(self, new: NewReading) -> StoredReading:
        """Keep a reading, then tell. Raises StoreError when it is not kept: then nobody is told."""
        stored = await self._store.add_reading(new)
        self._tell_kept(stored)
        return stored

    async def keep_void(self, new: NewReading, reason: str) -> None:
        """Keep a reading that does not count, then tell. Raises StoreError: then it is not kept.

        Its mark goes first: at no instant is there a reading that seems to count.
        """
        await self._store.add_mark(self._mark(new.place, "void", reason))
        self._tell_kept(await self._store.add_reading(new))
        self._desk.tell(TrialMarked(place=new.place, mark="void", reason=reason))

    async def mark(
        self, place: Place, mark: str, reason: str, *, whole_block: bool = False
    ) -> None:
        """Mark a trial, or all of its block and round, then tell. Raises StoreError."""
        await self._store.add_mark(self._mark(place, mark, reason, whole_block=whole_block))
        self._desk.tell(TrialMarked(place=place, mark=mark, reason=reason, whole_block=whole_block))

    def _mark(self, place: Place, mark: str, reason: str, *, whole_block: bool = False) -> NewMark:
        return NewMark(
            run=self.run,
            block=place.block,
            round=place.round,
            trial=None if whole_block else place.trial,
            attempt=None if whole_block else place.attempt,
            mark=mark,
            reason=reason,
            at=self.now(),
        )

    def _tell_kept(self, stored: StoredReading) -> None:
        self._readings += 1
        new = stored.kept
        self._desk.tell(
            ReadingKept(
                reading_id=stored.reading_id,
                place=new.place,
                reading=new.reading,
                relative_mm=stored.relative_mm,
                is_zero=new.is_zero,
                channel=new.channel,
            )
        )

    async def keep_answer(self, prompt: Prompt, answer: Answer) -> None:
        """Keep what was answered, before anything comes of it. Raises StoreError: it is not kept.

        What comes of a reading or a word is stored when it is done; this tells after a crash what
        was still to be done.
        """
        await self._keep_event(ANSWERED, in_words(answer), as_data(answer, prompt))

    async def keep_decision(self, decision: Decision) -> None:
        """Keep what was decided, before anything comes of it, then tell. Raises StoreError."""
        await self._keep_event(decision.kind, decision.what, dict(decision.data))
        told = DecisionKept(kind=decision.kind, what=decision.what, data=decision.data)
        self._desk.tell(told)

    async def keep_contact(self, place: Place, contact: TieContact) -> None:
        """Keep where the nozzle touched, before a tie's reading is asked for. Raises StoreError."""
        said = f"{in_the_study(place)}: z {contact.open_z_mm:g} to {contact.closed_z_mm:g} mm"
        await self._keep_event(TIE_CONTACT, said, contact.as_data(place))

    async def keep_plunger_sign(self, *, grows_pressed: bool) -> None:
        """Keep which way the number goes as the plunger is pressed in. Raises StoreError."""
        said = f"it {'grows' if grows_pressed else 'falls'} as the plunger is pressed in"
        await self._keep_event(PLUNGER_SIGN, said, {"grows_pressed": grows_pressed})

    async def keep_carried_out(self, place: Place) -> None:
        """Keep that a step was done in which nothing is read. Raises StoreError."""
        await self._keep_event(CARRIED_OUT, in_the_study(place), place_as_data(place))

    async def _keep_event(self, kind: str, text: str, data: dict[str, Any]) -> None:
        await self._store.add_event(
            NewEvent(run=self.run, at=self.now(), kind=kind, text=text, data=json.dumps(data))
        )

    async def note(self, kind: str, text: str, **data: object) -> None:
        """Note what happened; never fails."""
        self._put_in_mind(kind, text, data)
        await self.write_down()

    async def note_between(self, kind: str, text: str, **data: object) -> None:
        """As `note`, of what lies between readings: after how many is kept too, since a clock may
        have been set meanwhile.
        """
        await self.note(kind, text, readings=self._readings, **data)

    def note_later(self, kind: str, text: str, **data: object) -> None:
        """Note what happened, to be written down with the next event, or by `write_down`."""
        self._put_in_mind(kind, text, data)

    @contextmanager
    def noting(self, troubles: Troubles) -> Iterator[None]:
        """Meanwhile note refusals and the controller's complaints, and tell what is waited for."""
        with ExitStack() as heard:
            heard.callback(self._desk.on_refusal.add(self.note_refusal))
            heard.callback(troubles.on_error.add(self.note_error))
            heard.callback(troubles.on_wait.add(lambda what: self._desk.tell(Moving(what=what))))
            yield

    def note_refusal(self, refused: AnswerRefused) -> None:
        """Note a refused answer, to be written down with the next event."""
        self._put_in_mind(
            "refused",
            f"an answer on {refused.channel} did not count: {refused.reason}",
            {"prompt_id": refused.prompt_id, "channel": refused.channel},
        )

    def note_error(self, text: str) -> None:
        """Note an error line of the controller, to be written down with the next event."""
        self._put_in_mind("machine said", text, {})

    async def note_thermal_fault(self, fault: ThermalFault | None, machine: str) -> None:
        """Note a thermal fault, once; None: there is none."""
        if fault is not None and fault is not self._thermal_fault:
            self._thermal_fault = fault
            await self.note(THERMAL_FAULT, fault.what, machine=machine)

    def _put_in_mind(self, kind: str, text: str, data: dict[str, object]) -> None:
        room = MOST_IN_MIND // 2 if kind == "refused" else MOST_IN_MIND
        if len(self._in_mind) >= room:
            self._uncounted += 1
            return
        self._in_mind = [_shortened(event) for event in self._in_mind]
        self._in_mind.append(
            NewEvent(run=self.run, at=self.now(), kind=kind, text=text, data=json.dumps(data))
        )

    async def write_down(self) -> None:
        """Write down what is in mind; never fails."""
        async with self._pen:
            with suppress(StoreError):  # the disk is full: it stays in mind
                await self._write_all()

    async def _write_all(self) -> None:
        while self._in_mind:
            await self._store.add_event(self._in_mind[0])
            del self._in_mind[0]
        if count := self._uncounted:
            await self._store.add_event(self._not_listed(count))
            self._uncounted -= count

    def _not_listed(self, count: int) -> NewEvent:
        return NewEvent(
            run=self.run,
            at=self.now(),
            kind="not listed",
            text=f"{count} more events, refused answers among them, are not listed",
        )


def _shortened(event: NewEvent) -> NewEvent:
    return event if len(event.data) <= MOST_DATA_IN_MIND else replace(event, data="{}")
