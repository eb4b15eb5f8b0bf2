"""A station: one machine as the daemon keeps it, with its desk, its arming and its queue of runs.

Channels that can do more than answer (messages, the phone page, the local socket) act through the
station: they ask for a start, halt the machine, arm it, and show its standing.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from hostctl.records import Standing
from hostctl.run.arming.arming import Armed, Arming
from hostctl.run.arming.room_code import RoomCode, ShownCode
from hostctl.run.desk import Accepted, Desk, Refused

MOST_QUEUED = 8
ARM_FOR_S = 600
NOT_TOLD = "the line to the machine is down, so it was not told: switch it off at the mains"
UNARMED = "starting from afar is off until someone at the machine arms it"


@dataclass(frozen=True, slots=True, kw_only=True)
class StartRequest:
    """Somebody wants a study carried out, or (`resume`) a stopped run gone on with.

    Whichever channel it comes by, it counts as from afar: each of them reaches beyond the room.
    """

    study: str | None
    resume: int | None
    seed: int | None
    channel: str


@dataclass(frozen=True, slots=True)
class _Waiting:
    request: StartRequest
    armed: Armed  # the arming it used


class Station:
    """One machine as the daemon keeps it. All methods are called on the event loop's thread."""

    def __init__(
        self,
        name: str,
        *,
        now: Callable[[], datetime],
        studies: Callable[[], Sequence[str]],
        arm_for_s: float = ARM_FOR_S,
    ) -> None:
        self.name = name
        self.now = now
        self.studies = studies  # the names that can be started
        self.arm_for_s = arm_for_s
        self.desk = Desk()
        self.arming = Arming(now)
        self.room_code = RoomCode(now)
        self.reachable = False
        self.why_unreachable = "not asked yet"
        self.own_job = ""  # that the board runs a job of its own, and how it shows; empty: none
        self.heat = ""  # what is warm or heated, in words; empty: nothing, as far as is known
        self.armed_by_press: list[str] = []  # what beside the machine arms it: "its button"
        self.notice = ""  # what a person should know and no prompt says; one sentence
        self.warnings: dict[str, str] = {}  # what is wrong beside the run, by subject; a sentence
        self._requests: asyncio.Queue[_Waiting] = asyncio.Queue(MOST_QUEUED)
        self._halt: Callable[[str], None] | None = None
        self._went_out: Callable[[], bool] = lambda: True
        self._show: Callable[[ShownCode], None] | None = None
        self._on_change: list[Callable[[], None]] = []

    @property
    def standing(self) -> Standing:
        """How the station stands now."""
        told = self.desk.told.standing
        if told is not Standing.RESTING:
            return told
        if not self.reachable:
            return Standing.NO_LINE
        return Standing.OWN_JOB if self.own_job else Standing.RESTING

    @property
    def queued(self) -> int:
        """How many starts wait behind the present run."""
        return self._requests.qsize()

    # ------------------------------------------------------------ what channels may do

    def ask_start(self, request: StartRequest) -> Accepted | Refused:
        """Queue a run. This uses up the arming; what is refused starts nothing.

        It must also begin before the arming would have run out.
        """
        if (request.study is None) == (request.resume is None):
            return Refused(reason="name either a study or a run to go on with")
        if request.study is not None and request.study not in self.studies():
            return Refused(reason=f"no study is called '{request.study}' here")
        if self._requests.full():
            return Refused(reason=f"{MOST_QUEUED} runs are waiting already")
        if self.own_job:
            return Refused(reason=self.own_job)
        armed = self.arming.use()
        if armed is None:
            return Refused(reason=UNARMED)
        self._requests.put_nowait(_Waiting(request, armed))
        self.changed()
        return Accepted()

    def halt(self, by: str) -> bool:
        """Halt the machine at once, whatever it does; starts that wait are dropped.

        Gives whether the machine could be told: it can't while its line is down.
        """
        while not self._requests.empty():
            self._requests.get_nowait()
        self.arming.disarm()
        if self._halt is not None:
            self._halt(by)
        self.changed()
        return self._halt is not None and self._went_out()

    def arm(self, by: str) -> Accepted | Refused:
        """Somebody who is at the machine allows one start from afar; only while it rests."""
        if self.desk.started is not None:
            return Refused(reason="a run is going on")
        self.arming.arm(by=by, for_s=self.arm_for_s)
        self.changed()
        return Accepted()

    def show_code(self) -> Accepted | Refused:
        """Have a fresh room code shown at the machine; whoever asked does not get to see it."""
        if self._show is None or self.desk.started is not None:
            why = "the machine can't be reached" if self._show is None else "a run is going on"
            return Refused(reason=f"{why}, so no room code can be shown")
        shown = self.room_code.renew()
        if isinstance(shown, str):
            return Refused(reason=shown)
        self._show(shown)
        return Accepted()

    def arm_by_code(self, code: str, by: str) -> Accepted | Refused:
        """Somebody typed the room code: that proves they are here, and arms."""
        why = self.room_code.take(code)
        return self.arm(by) if why is None else Refused(reason=why)

    def warn(self, about: str, text: str) -> None:
        """Show on every channel, whatever the standing, what is wrong; "" when it is over."""
        if self.warnings.get(about, "") == text:
            return
        self.warnings.pop(about, None)
        if text:
            self.warnings[about] = text
        self.changed()

    # ------------------------------------------------------------ who looks on

    def on_change(self, act: Callable[[], None]) -> None:
        """Have `act` called after each change that no news tells of: the line, arming, the queue.

        That an arming ran out is no such change: whoever shows it has to look now and then.
        """
        self._on_change.append(act)

    def changed(self) -> None:
        """Call them."""
        for act in self._on_change:
            act()

    # ------------------------------------------------------------ the daemon's side

    async def next_request(self) -> StartRequest:
        """Wait for the next start. One whose arming ran out as it waited is dropped, and said."""
        while True:
            waiting = await self._requests.get()
            self.changed()
            if self.arming.lasts(waiting.armed):
                return waiting.request
            named = waiting.request.study or f"run {waiting.request.resume}"
            self.notice = f"{named} was not started: its arming ran out while it waited."

    def on_halt(
        self, act: Callable[[str], None] | None, went_out: Callable[[], bool] = lambda: True
    ) -> None:
        """What halting does: set once the machine was connected.

        went_out: asked after it, whether there was a line for it.
        """
        self._halt, self._went_out = act, went_out

    def on_show_code(self, act: Callable[[ShownCode], None] | None) -> None:
        """How a room code is shown at the machine: set while it is connected."""
        self._show = act
