"""What was answered and seen around programs that are killed, and what is on the disk of it."""

import json
import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from hostctl.store.reading import read_record
from hostctl.store.rows import RunRecord


@dataclass
class Given:
    """One answer, and whether whoever gave it has seen that it was taken."""

    channel: str
    word: str
    reading_mm: float | None
    prompt_id: str | None = None  # a terminal shows none
    acknowledged: bool = False

    def is_in(self, event: dict[str, Any]) -> bool:
        """Whether the event keeps this answer."""
        same_prompt = self.prompt_id in (None, event["prompt_id"])
        said = (event["channel"], event["word"], event["reading_mm"])
        return same_prompt and said == (self.channel, self.word, self.reading_mm)


def answers_of(record: RunRecord) -> list[dict[str, Any]]:
    return [json.loads(event.data) for event in record.events if event.kind == "answered"]


@dataclass
class Book:
    """What is known of one database from outside, life by life."""

    database: Path
    chance: random.Random
    counted: Counter[str]
    begun: bool = False
    events_before: int = 0
    to_be_told: list[str] = field(default_factory=list)  # by the next life, of what was kept
    given: list[Given] = field(default_factory=list)
    told: dict[int, float] = field(default_factory=dict)  # readings, by their numbers

    def say(self, channel: str, kind: str, trial: int | None, prompt_id: str | None) -> Given:
        """What to answer to a prompt."""
        reads = kind == "read"
        word = "reading" if reads else "done"
        if trial and channel != "terminal" and kind != "zero" and self.chance.random() < 0.1:
            word = self.chance.choice(["redo", "skip"])
        value_mm = round(self.chance.randint(1, 45) * 0.01, 2) if word == "reading" else None
        self.given.append(Given(channel, word, value_mm, prompt_id))
        return self.given[-1]

    def moment_s(self, within_s: Sequence[float]) -> float:
        """When to kill: within one of these times."""
        return self.chance.uniform(0, self.chance.choice(within_s))

    @property
    def run(self) -> int | None:
        """The run to go on with, though nothing may have been kept of it; None: begin it."""
        return 1 if self.begun else None

    def see_it_is_told(self, shown: str) -> None:
        """What the first question of the next life says of the last one."""
        for what in self.to_be_told:
            assert what in shown, f"{what}: not told in: {shown}"

    def check(self) -> None:
        """After a life has ended. Raises AssertionError when anything is lost or twice."""
        record, self.begun = read_record(self.database, 1), True
        events = answers_of(record)
        new = events[self.events_before :]
        ids = Counter(event["prompt_id"] for event in events)
        assert max(ids.values(), default=1) == 1, f"kept twice: {ids.most_common(1)}"
        assert len(new) <= len(self.given), f"kept, but never given: {new}"
        for event, given in zip(new, self.given, strict=False):
            assert given.is_in(event), f"{given} is kept as {event}"
        lost = [given for given in self.given[len(new) :] if given.acknowledged]
        assert not lost, f"acknowledged, but not on the disk: {lost}"
        self._check_readings(record, events)
        self._count(new)
        self.to_be_told = list(_kept_last(record, events))
        self.events_before, self.given = len(events), []

    def _check_readings(self, record: RunRecord, events: list[dict[str, Any]]) -> None:
        answered = Counter((event["given_at"], *_spot(event)) for event in events)
        for stored in record.readings:
            place, at = stored.kept.place, stored.kept.answered_at
            assert at is not None
            spot = (place.block, place.round, place.trial, place.attempt)
            assert answered[at.isoformat(timespec="milliseconds"), *spot] == 1, stored
        on_disk = {one.reading_id: one.kept.reading.value_mm for one in record.readings}
        assert self.told.items() <= on_disk.items(), "a reading was told, but is not on the disk"
        for event in events[: self.events_before]:
            if event["word"] in ("redo", "skip"):
                assert _is_marked(record, event), f"kept, but not done: {event}"

    def _count(self, new: list[dict[str, Any]]) -> None:
        for given in self.given:
            self.counted[f"given on {given.channel}"] += 1
            self.counted["acknowledged"] += given.acknowledged
        taken = sum(given.acknowledged for given in self.given)
        self.counted["on the disk"] += len(new)
        self.counted["on the disk, not acknowledged"] += len(new) - taken


def _kept_last(record: RunRecord, events: list[dict[str, Any]]) -> Iterator[str]:
    about_trials = [event for event in events if event["place"]]
    if record.readings:
        kept = record.readings[-1].kept
        trial = f"trial {kept.place.trial}" if kept.place.trial else "the zero"
        where = f"{trial} of block {kept.place.block}"
        yield f"reading kept is {kept.reading.value_mm:g} mm, {where}"
        last = (kept.place.block, kept.place.round, kept.place.trial, kept.place.attempt)
        if _spot(about_trials[-1]) == last and about_trials[-1]["word"] != "redo":
            return
    if about_trials:
        event = about_trials[-1]
        value_mm = event["reading_mm"]
        said = event["word"] if value_mm is None else f"{value_mm:g} mm"
        yield f"answer kept is {said} on {event['channel']}"


def _spot(event: dict[str, Any]) -> tuple[int, ...]:
    place = event["place"]
    return tuple(place[key] for key in ("block", "round", "trial", "attempt")) if place else ()


def _is_marked(record: RunRecord, event: dict[str, Any]) -> bool:
    block, round_, trial, attempt = _spot(event)
    return any(
        (mark.block, mark.round) == (block, round_)
        and mark.trial in (None, trial)
        and mark.attempt in (None, attempt)
        for mark in record.marks
    )
