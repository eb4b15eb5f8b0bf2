"""What is asked on the local socket, and what comes back. Nothing asked here moves by itself.

What can be asked is declared in `requests`. What is refused comes back as
`{"ok": false, "reason": …}`.
"""

import asyncio
from collections.abc import AsyncIterator, Callable, Mapping
from typing import Protocol, assert_never

from hostctl.channels.typed_reading import reading_mm
from hostctl.channels.view.data import Json, as_data
from hostctl.channels.view.seen import view_of
from hostctl.daemon.assembly.requested import Requested
from hostctl.daemon.log.event_log import EventLog
from hostctl.daemon.socket.changes import Changes
from hostctl.daemon.socket.refusals import next_step
from hostctl.daemon.socket.requests import (
    Arm,
    AskedOnce,
    ForgetPhones,
    Hold,
    Malformed,
    Pair,
    Reply,
    ShowCode,
    Start,
    Status,
    Stop,
    ToOne,
    Watch,
    request_from,
)
from hostctl.errors import DaemonError, HostctlError
from hostctl.news import Answer, Prompt, Word
from hostctl.run.desk import Accepted, Refused
from hostctl.run.fitting import only_there
from hostctl.run.station import UNARMED, StartRequest, Station

CHANNEL = "command line"
FRESH_S = 0.5
CHANGES_APART_S = 0.1
LOOK_AGAIN_S = 1.0


class Phones(Protocol):
    """Which phones the page is open to; `hostctl.daemon.remote.Remote` does."""

    def pair(self) -> Json: ...
    def forget_phones(self) -> None: ...


class Asked:
    """Answers requests, for all machines."""

    def __init__(
        self,
        stations: Mapping[str, Station],
        requested: Requested,
        log: EventLog,
        *,
        changes: Changes,
        phones: Phones,
        has_terminal: Callable[[], bool],
    ) -> None:
        """changes: rung at any news. has_terminal: whether room codes are shown on one of ours."""
        self._stations = stations
        self._requested = requested
        self._log = log
        self._changes = changes
        self._phones = phones
        self._has_terminal = has_terminal

    async def answers(self, line: bytes) -> AsyncIterator[Json]:
        """One answer to a request; for `watch` the status at each change, for ever."""
        request = request_from(line)
        match request:
            case Malformed(reason=reason):
                yield {"ok": False, "reason": reason}
            case Watch():
                async for status in self._watch():
                    yield status
            case _:
                yield await self._answer(request)

    async def _answer(self, request: AskedOnce) -> Json:
        try:
            match request:
                case Status():
                    return self._status()
                case Pair():
                    return {"ok": True, **self._phones.pair()}
                case ForgetPhones():
                    self._phones.forget_phones()
                    return {"ok": True}
                case Hold():
                    return await _hold(self._one_or_all(request))
                case Stop():
                    return _stop(self._one_or_all(request))
                case Start():
                    return await self._start(request)
                case Reply() | Arm() | ShowCode():
                    return await self._to_one(self._one(request.machine), request)
                case never:
                    assert_never(never)
        except HostctlError as error:
            said = {"where": error.where, "reason": error.what, "next_step": error.next_step}
            return {"ok": False, **said}

    # ------------------------------------------------------------ looking

    def _status(self) -> Json:
        return {
            "ok": True,
            "machines": [as_data(view_of(each)) for each in self._stations.values()],
        }

    async def _watch(self) -> AsyncIterator[Json]:
        last: Json = {}
        while True:
            status = self._status()
            if status != last:
                yield status
                last = status
            await asyncio.sleep(CHANGES_APART_S)
            await self._changes.next(LOOK_AGAIN_S)  # arming and the like change without news

    # ------------------------------------------------------------ to one machine, or to all

    def _named(self, name: str | None) -> list[Station]:
        """The station of that name; of none, all."""
        return [each for each in self._stations.values() if name in (None, each.name)]

    def _one(self, name: str | None) -> Station:
        """The station of that name; of none, the only one. Raises DaemonError."""
        stations = self._named(name)
        if len(stations) == 1:
            return stations[0]
        what = f"no machine is called '{name}' here" if name else "it has several machines"
        raise DaemonError(
            "the daemon refused", what, f"Say which: --machine {' or '.join(self._stations)}."
        )

    def _one_or_all(self, request: Hold | Stop) -> list[Station]:
        """All machines when none is named: stopping one too many is better than one too few."""
        return self._named(request.machine) or [self._one(request.machine)]

    async def _to_one(self, station: Station, request: ToOne) -> Json:
        match request:
            case Reply():
                return await _take_answer(station, request)
            case Arm():
                result = station.arm_by_code(request.code or "", CHANNEL)
                return self._logged("arm", station, result)
            case ShowCode():
                told = self._logged("show-code", station, station.show_code())
                return told | {
                    "on_terminal": self._has_terminal(),
                    "press": " or ".join(station.armed_by_press),
                }

    async def _start(self, request: Start) -> Json:
        name = request.machine
        if request.resume is not None:
            record = await self._requested.resumable(request.resume, name or None)
            name = record.summary.new.machine
        station = self._one(name)
        result = station.ask_start(
            StartRequest(
                study=request.study or None,
                resume=request.resume,
                seed=request.seed,
                channel=CHANNEL,
            )
        )
        waits_for = "" if station.reachable else station.halted or station.why_unreachable
        told = self._logged("start", station, result) | {"waits_for": waits_for}
        if isinstance(result, Refused):
            return told | {"next_step": _before_starting(station, result.reason)}
        return told

    def _logged(self, what: str, station: Station, result: Accepted | Refused) -> Json:
        why = result.reason if isinstance(result, Refused) else ""
        self._log.say(what, machine=station.name, channel=CHANNEL, refused=why)
        return _told(result) | {"machine": station.name}


def _stop(stations: list[Station]) -> Json:
    told = {station.name: station.halt(CHANNEL) for station in stations}
    return {
        "ok": True,
        "machines": [name for name, was_told in told.items() if was_told],
        "not_told": [name for name, was_told in told.items() if not was_told],
    }


async def _hold(stations: list[Station]) -> Json:
    results = {each.name: await _answered(each, Word.HOLD, None, None) for each in stations}
    held = [name for name, result in results.items() if isinstance(result, Accepted)]
    return {"ok": True, "machines": held} if held else _told(next(iter(results.values())))


async def _take_answer(station: Station, request: Reply) -> Json:
    text, named = (request.text or "").strip(), request.prompt_id or None
    if text in (Word.HOLD, Word.END):
        return _told(await _answered(station, Word(text), None, named))
    prompt = station.desk.open_prompt
    if prompt is None:
        return _told(Refused(reason="nothing is asked now"))
    if named is None and station.desk.open_for_s < FRESH_S:
        why = "the question has only just appeared: look, then answer again"
        return _told(Refused(reason=why))
    meant = _meant(text, prompt)
    if isinstance(meant, Refused):
        return _told(meant)
    return _told(await _answered(station, *meant, named or prompt.prompt_id))


def _meant(text: str, prompt: Prompt) -> tuple[Word, float | None] | Refused:
    """A word, or what the indicator shows as a person types it."""
    if text in (Word.REDO, Word.SKIP) or (text == Word.DONE and not prompt.choices):
        return Word(text), None
    if prompt.choices:
        return Refused(reason=only_there(prompt))
    value_mm = reading_mm(text, prompt)
    if value_mm is None:
        return Refused(reason=f"'{text[:40]}' is no number, nor done, redo, skip, hold or end")
    return Word.READING, value_mm


def _before_starting(station: Station, reason: str) -> str:
    if reason == UNARMED:
        ways = [*station.armed_by_press, "the code it shows after: hostctl arm --show"]
        return f"There: {', or '.join(ways)}"
    if reason.startswith("no study is called"):
        return f"Its studies: {', '.join(station.studies()) or 'none'}."
    return next_step(reason)


async def _answered(
    station: Station, word: Word, value_mm: float | None, prompt_id: str | None
) -> Accepted | Refused:
    return await station.desk.acknowledged(
        Answer(
            prompt_id=prompt_id,
            word=word,
            reading_mm=value_mm,
            channel=CHANNEL,
            given_at=station.now(),
        )
    )


def _told(result: Accepted | Refused) -> Json:
    match result:
        case Refused(reason=reason):
            return {"ok": False, "reason": reason, "next_step": next_step(reason)}
        case Accepted():
            return {"ok": True}
