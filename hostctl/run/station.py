"""A station: one machine as the daemon keeps it, with its desk, its arming and its queue of runs.

Channels that can do more than answer (messages, the phone page, the local socket) act through the
station: they ask for a start, halt the machine, arm it, and show its standing.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from hostctl.run.arming import Arming
from hostctl.run.desk import Accepted, Desk, Refused

MOST_QUEUED = 8


class Origin(StrEnum):
    """Where a request came from."""

    HERE = "here"  # somebody who has shown to be at the machine
    AFAR = "afar"


class Standing(StrEnum):
    """How a station stands, in one word."""

    NO_LINE = "no line"  # the machine can't be reached
    RESTING = "resting"  # nothing is going on
    MOVING = "moving"  # a run is going on and the machine may move
    ASKING = "asking"  # a run waits for a person
    HOLDING = "holding"  # a run stands still and says why


@dataclass(frozen=True, slots=True, kw_only=True)
class StartRequest:
    """Somebody wants a study carried out, or (`resume`) a stopped run gone on with."""

    study: str | None
    resume: int | None
    seed: int | None
    channel: str
    origin: Origin


class Station:
    """One machine as the daemon keeps it. All methods are called on the event loop's thread."""

    def __init__(
        self,
        name: str,
        *,
        now: Callable[[], datetime],
        studies: Callable[[], Sequence[str]],
    ) -> None:
        self.name = name
        self.now = now
        self.studies = studies  # the names that can be started
        self.desk = Desk()
        self.arming = Arming(now)
        self.reachable = False
        self.why_unreachable = "not asked yet"
        self._requests: asyncio.Queue[StartRequest] = asyncio.Queue(MOST_QUEUED)
        self._halt: Callable[[str], None] | None = None

    @property
    def standing(self) -> Standing:
        """How the station stands now."""
        if self.desk.held is not None:
            return Standing.HOLDING
        if self.desk.open_prompt is not None:
            return Standing.ASKING
        if self.desk.started is not None:
            return Standing.MOVING
        return Standing.RESTING if self.reachable else Standing.NO_LINE

    @property
    def queued(self) -> int:
        """How many starts wait behind the present run."""
        return self._requests.qsize()

    # ------------------------------------------------------------ what channels may do

    def ask_start(self, request: StartRequest) -> Accepted | Refused:
        """Queue a run. From afar this uses up the arming; what is refused starts nothing."""
        if request.study is not None and request.study not in self.studies():
            return Refused(reason=f"no study is called '{request.study}'")
        if self._requests.full():
            return Refused(reason=f"{MOST_QUEUED} runs are waiting already")
        if request.origin is Origin.AFAR and self.arming.use() is None:
            return Refused(reason="starting from afar is off until someone at the machine arms it")
        self._requests.put_nowait(request)
        return Accepted()

    def halt(self, by: str) -> None:
        """Halt the machine at once, whatever it does; starts that wait are dropped."""
        while not self._requests.empty():
            self._requests.get_nowait()
        self.arming.disarm()
        if self._halt is not None:
            self._halt(by)

    # ------------------------------------------------------------ the daemon's side

    async def next_request(self) -> StartRequest:
        """Wait for the next start."""
        return await self._requests.get()

    def on_halt(self, act: Callable[[str], None] | None) -> None:
        """What halting does: set while the machine is connected."""
        self._halt = act
