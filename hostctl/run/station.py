"""A station: one machine as the daemon keeps it, with its desk, its arming and its queue of runs.

Channels that can do more than answer (messages, the phone page, the local socket) act through the
station: they ask for a start, halt the machine, arm it, and show its standing.
"""

import asyncio
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Protocol

from hostctl.observers import Observers
from hostctl.run.arming.arming import Armed, Arming
from hostctl.run.arming.room_code import RoomCode, ShownCode
from hostctl.run.desk import Accepted, Desk, Refused
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.record.standing import Standing

MOST_QUEUED = 8
ARM_FOR_S = 600
HALTED = (
    "STOP was given on {by}: the machine was told to halt at once, heaters off. See to whatever it "
    "was given for. It connects again by itself; if it does not, switch it off and on. The next "
    "run homes it first, on somebody's word."
)
BEING_CONNECTED = "being connected"
"""Why a machine can't be reached whose first try is not over."""
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


class Haltable(Protocol):
    """The machine, as far as a station needs it."""

    halt_went_out: bool
    """Whether there was a line for the halt to go out on."""

    def halt(self, by: str) -> None:
        """Stop at once."""
        ...


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
        self.why_unreachable = BEING_CONNECTED
        self.own_job = ""  # that the board runs a job of its own, and how it shows; empty: none
        self.heat = ""  # what is warm or heated, in words; empty: nothing, as far as is known
        self.armed_by_press: list[str] = []  # what beside the machine arms it: "its button"
        self.notice = ""  # what a person should know and no prompt says; one sentence
        self.warnings: dict[str, str] = {}  # what is wrong beside the run, by subject; a sentence
        self._requests: asyncio.Queue[_Waiting] = asyncio.Queue(MOST_QUEUED)
        self.machine: Haltable | None = None  # set once it was connected
        self.halted_by = ""  # the channel of a STOP that reached it, until it is connected anew
        self.on_halt: Observers[str] = Observers()
        """Told who had the machine halted, once it was told itself."""
        self.on_show_code: Observers[ShownCode] = Observers()
        """Told of a room code that is to be shown at the machine."""
        self._report: RunReport | None = None
        self.on_report_wanted: Observers[RunReport] = Observers()
        """Told of a report that is to be made."""
        self.on_report: Observers[RunReport] = Observers()
        """Told of each report once it is made, or could not be."""
        self.on_change: Observers[[]] = Observers()
        """Told of each change that no news tells of: the line, arming, the queue.

        That an arming ran out is no such change: whoever shows it has to look now and then.
        """

    @property
    def standing(self) -> Standing:
        """How the station stands now."""
        by_the_news = self.desk.course.standing
        if by_the_news is not Standing.RESTING:
            return by_the_news
        if self.halted_by:
            return Standing.HALTED
        if not self.reachable:
            return Standing.NO_LINE
        return Standing.OWN_JOB if self.own_job else Standing.RESTING

    @property
    def halted(self) -> str:
        """Who had it halted while no run went on, and what to do now; empty: it is not."""
        resting = self.desk.course.standing is Standing.RESTING
        return HALTED.format(by=self.halted_by) if resting and self.halted_by else ""

    @property
    def queued(self) -> int:
        """How many starts wait behind the present run."""
        return self._requests.qsize()

    @property
    def report(self) -> RunReport | None:
        """How it stands with the report of the last run; None while a run goes on."""
        if self._report is None or self.desk.started is not None:
            return None
        return self._report if self.desk.last_run in (None, self._report.run) else None

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
        if self.machine is not None:
            self.machine.halt(by)
            self.on_halt.tell(by)
        told = self.machine is not None and self.machine.halt_went_out
        self.halted_by = by if told else self.halted_by
        self.changed()
        return told

    def arm(self, by: str) -> Accepted | Refused:
        """Somebody who is at the machine allows one start from afar; only while it rests."""
        if self.desk.started is not None:
            return Refused(reason="a run is going on")
        self.arming.arm(by=by, for_s=self.arm_for_s)
        self.changed()
        return Accepted()

    def show_code(self) -> Accepted | Refused:
        """Have a fresh room code shown at the machine; whoever asked does not get to see it."""
        if not self.reachable or self.desk.started is not None:
            return Refused(reason=f"{self._why_not_at_rest()}, so no room code can be shown")
        shown = self.room_code.renew()
        if isinstance(shown, str):
            return Refused(reason=shown)
        self.on_show_code.tell(shown)
        return Accepted()

    def _why_not_at_rest(self) -> str:
        if self.desk.started is not None:
            return "a run is going on"
        if self.halted_by:
            return "the machine was told to halt and is not connected again yet"
        if self.why_unreachable == BEING_CONNECTED:
            return "the machine is not connected yet"
        return f"the machine can't be reached ({self.why_unreachable})"

    def arm_by_code(self, code: str, by: str) -> Accepted | Refused:
        """Somebody typed the room code: that proves they are here, and arms."""
        why = self.room_code.take(code)
        return self.arm(by) if why is None else Refused(reason=why)

    def ask_report(self, run: int) -> Accepted | Refused:
        """Have the report of the last run made; nothing moves by it."""
        report = self.report
        if report is None or report.run != run:
            return Refused(reason=f"run {run} is not the last one here, or it goes on")
        if report.standing is ReportStanding.MADE:
            return Refused(reason="the report is made already")
        if report.standing is ReportStanding.BEING_MADE:
            return Refused(reason="the report is being made")
        self._report = replace(report, standing=ReportStanding.BEING_MADE, why="")
        self.on_report_wanted.tell(self._report)
        self.changed()
        return Accepted()

    def warn(self, about: str, text: str) -> None:
        """Show on every channel, whatever the standing, what is wrong; "" when it is over."""
        if self.warnings.get(about, "") == text:
            return
        self.warnings.pop(about, None)
        if text:
            self.warnings[about] = text
        self.changed()

    # ------------------------------------------------------------ the daemon's side

    def connected_anew(self) -> None:
        """The board was greeted, after whatever it was; a STOP before it stays told."""
        if self.halted_by:
            told = f"STOP was given on {self.halted_by}; the machine is connected anew since."
            self.notice = f"{told} {self.notice}".strip()
        self.halted_by = ""

    def changed(self) -> None:
        """Something changed that no news tells of."""
        self.on_change.tell()

    def offer_report(self, report: RunReport) -> None:
        """How it stands with the report of the last run, which is over."""
        self._report = report
        self.changed()

    def tell_report(self, report: RunReport) -> None:
        """A report is made, or could not be; perhaps of a run that is no longer the last."""
        if self._report is not None and self._report.run == report.run:
            self._report = report
        self.on_report.tell(report)
        self.changed()

    async def next_request(self) -> StartRequest:
        """Wait for the next start. One whose arming ran out as it waited is dropped, and said."""
        while True:
            waiting = await self._requests.get()
            self.changed()
            if self.arming.lasts(waiting.armed):
                return waiting.request
            named = waiting.request.study or f"run {waiting.request.resume}"
            self.notice = f"{named} was not started: its arming ran out while it waited."
