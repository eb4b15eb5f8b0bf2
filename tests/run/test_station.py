"""A station: who may start what, from where, and how it stands."""

import asyncio
from dataclasses import replace

import pytest
from halted_machine import HaltedMachine
from jumping_loop import in_jumping_time
from test_room_code import Clock

from hostctl.deeds import ClearBed
from hostctl.news import Answer, HoldBegan, Prompt, RunFinished, RunStarted, Word
from hostctl.run.arming.room_code import MOST_WRONG, ShownCode
from hostctl.run.desk import Accepted, Refused
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.record.standing import Standing
from hostctl.run.station import BEING_CONNECTED, MOST_QUEUED, UNARMED, StartRequest, Station

SMALL = StartRequest(study="small", resume=None, seed=None, channel="messages")
STARTED = RunStarted(run=1, study="small", machine="bench", trials_total=3, resumed=False)


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def station(clock: Clock) -> Station:
    return Station("bench", now=clock, studies=lambda: ["small"], arm_for_s=600)


def why(result: Accepted | Refused) -> str:
    return result.reason if isinstance(result, Refused) else ""


def test_from_afar_nothing_starts_unless_armed(station: Station):
    assert "until someone at the machine arms it" in why(station.ask_start(SMALL))
    station.arm("button")
    assert station.ask_start(SMALL) == Accepted()
    assert "until someone at the machine arms it" in why(station.ask_start(SMALL))


def report_of(run: int, *, complete: bool = True) -> RunReport:
    return RunReport(run=run, study="small", complete=complete)


def test_a_report_is_wanted_once_and_again_only_where_it_failed(station: Station):
    wanted: list[RunReport] = []
    station.on_report_wanted.add(wanted.append)
    station.offer_report(report_of(1))
    assert wanted == []
    assert station.ask_report(1) == Accepted()
    assert why(station.ask_report(1)) == "the report is being made"
    station.tell_report(replace(wanted[0], standing=ReportStanding.FAILED, why="no room"))
    assert station.ask_report(1) == Accepted()
    assert wanted[1] == replace(report_of(1), standing=ReportStanding.BEING_MADE)
    station.tell_report(replace(wanted[1], standing=ReportStanding.MADE))
    assert why(station.ask_report(1)) == "the report is made already"
    assert len(wanted) == 2


def test_a_report_can_be_had_of_the_last_run_alone_and_while_none_goes_on(station: Station):
    assert "is not the last one here" in why(station.ask_report(1))
    station.offer_report(report_of(1))
    assert "is not the last one here" in why(station.ask_report(2))
    station.desk.tell(STARTED)
    assert station.report is None
    assert "it goes on" in why(station.ask_report(1))
    station.desk.tell(RunFinished(run=1, complete=False, reason="said so"))
    assert station.report == report_of(1)
    station.desk.tell(replace(STARTED, run=2))
    station.desk.tell(RunFinished(run=2, complete=False, reason="said so"))
    assert station.report is None
    station.offer_report(report_of(2, complete=False))
    assert station.report == report_of(2, complete=False)


def test_a_report_of_an_earlier_run_is_told_and_the_last_one_stays_shown(station: Station):
    told: list[RunReport] = []
    station.on_report.add(told.append)
    station.offer_report(report_of(2))
    station.tell_report(report_of(1))
    assert told == [report_of(1)]
    assert station.report == report_of(2)


def test_a_start_from_afar_that_waits_beyond_its_arming_is_dropped(station: Station, clock: Clock):
    station.arm("button")
    station.ask_start(SMALL)
    clock.pass_s(600)
    station.arm("button")
    later = replace(SMALL, channel="page")
    station.ask_start(later)
    assert in_jumping_time(station.next_request()) == later
    assert station.notice == "small was not started: its arming ran out while it waited."


@pytest.mark.parametrize(
    ("request_", "reason"),
    [
        (replace(SMALL, study="smal"), "no study is called 'smal' here"),
        (replace(SMALL, study=None), "name either a study or a run to go on with"),
        (replace(SMALL, resume=3), "name either a study or a run to go on with"),
    ],
)
def test_what_can_not_be_started_is_refused(station: Station, request_: StartRequest, reason: str):
    assert why(station.ask_start(request_)) == reason


def test_a_refused_start_leaves_the_arming_alone(station: Station):
    station.arm("button")
    station.ask_start(replace(SMALL, study="smal"))
    assert station.arming.armed is not None


def test_only_so_many_runs_wait(station: Station):
    taken = [(station.arm("button"), station.ask_start(SMALL))[1] for _ in range(MOST_QUEUED + 1)]
    assert why(taken[-1]) == f"{MOST_QUEUED} runs are waiting already"
    assert station.queued == MOST_QUEUED


def test_halting_halts_drops_what_waits_and_disarms(station: Station):
    halted: list[str] = []
    station.machine = HaltedMachine(halted.append)
    station.arm("button")
    station.ask_start(SMALL)
    station.arm("button")
    assert station.halt("page")
    assert (halted, station.queued, station.arming.armed) == (["page"], 0, None)


def test_halting_a_machine_that_is_away_is_no_error_and_said(station: Station):
    assert not station.halt("page")
    halted: list[str] = []
    station.machine = HaltedMachine(halted.append, goes_out=False)
    assert not station.halt("page")
    assert halted == ["page"]


def test_a_room_code_is_shown_at_the_machine_and_arms(station: Station):
    at_the_machine: list[ShownCode] = []
    station.reachable = True
    station.on_show_code.add(at_the_machine.append)
    assert station.show_code() == Accepted()
    assert station.arm_by_code(at_the_machine[0].code, "command line") == Accepted()
    armed = station.arming.armed
    assert armed is not None
    assert armed.by == "command line"


def test_guessing_the_room_code_shuts_it(station: Station):
    station.reachable = True
    station.on_show_code.add(lambda shown: None)
    station.show_code()
    for _ in range(MOST_WRONG):
        station.arm_by_code("x", "command line")
    assert "too many wrong codes" in why(station.show_code())
    assert station.arming.armed is None


def test_no_code_is_shown_on_a_machine_that_is_away(station: Station):
    for because, says in (
        (BEING_CONNECTED, "the machine is not connected yet, so no room code can be shown"),
        ("no answer", "the machine can't be reached (no answer), so no room code can be shown"),
    ):
        station.why_unreachable = because
        assert why(station.show_code()) == says


async def test_while_a_run_goes_on_nobody_arms_and_no_code_is_shown(station: Station):
    station.reachable = True
    station.on_show_code.add(lambda shown: None)
    station.desk.tell(STARTED)
    assert why(station.arm("button")) == "a run is going on"
    assert "a run is going on" in why(station.show_code())


def test_it_says_how_it_stands(station: Station, clock: Clock):
    seen = [station.standing]
    station.reachable = True
    seen.append(station.standing)
    prompt = Prompt(
        prompt_id="1-1",
        deed=ClearBed(),
        text="Ready?",
        detail="",
        moves_next="",
        place=None,
        opened_at=clock.at,
        resolution_mm=None,
    )

    async def ask() -> None:
        station.desk.tell(STARTED)
        seen.append(station.standing)
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(station.desk.ask(prompt))
            await asyncio.sleep(0)
            seen.append(station.standing)
            station.desk.tell(HoldBegan(reason="why not"))
            seen.append(station.standing)
            done = Answer(prompt_id="1-1", word=Word.DONE, channel="page", given_at=clock.at)
            station.desk.answer(done)

    in_jumping_time(ask())
    assert seen == [
        Standing.NO_LINE,
        Standing.RESTING,
        Standing.MOVING,
        Standing.ASKING,
        Standing.HOLDING,
    ]


def test_arming_lasts_ten_minutes_where_nothing_else_is_said(clock: Clock):
    station = Station("bench", now=clock, studies=lambda: ["small"])
    station.arm("button")
    clock.pass_s(599)
    assert station.arming.armed is not None
    clock.pass_s(1)
    assert why(station.ask_start(SMALL)) == UNARMED


def test_arming_lasts_as_long_as_it_is_told_to(clock: Clock):
    station = Station("bench", now=clock, studies=lambda: ["small"], arm_for_s=30)
    station.arm("button")
    clock.pass_s(29)
    assert station.arming.armed is not None
    clock.pass_s(1)
    assert station.arming.armed is None


def test_a_run_is_gone_on_with_by_its_number_when_armed(station: Station):
    station.arm("button")
    resume = replace(SMALL, study=None, resume=3)
    assert station.ask_start(resume) == Accepted()
    assert in_jumping_time(station.next_request()) == resume


def test_a_start_of_a_run_that_waited_too_long_is_named_by_its_number(
    station: Station, clock: Clock
):
    station.arm("button")
    station.ask_start(replace(SMALL, study=None, resume=3))
    clock.pass_s(600)
    station.arm("button")
    station.ask_start(SMALL)
    in_jumping_time(station.next_request())
    assert station.notice.startswith("run 3 was not started")


def test_whoever_looks_on_is_told_of_arming_of_starts_and_of_halting(station: Station):
    told: list[int] = []
    station.on_change.add(lambda: told.append(station.queued))
    station.arm("button")
    station.ask_start(SMALL)
    in_jumping_time(station.next_request())
    station.halt("page")
    assert told == [0, 1, 0, 0]


def test_a_wrong_room_code_does_not_arm(station: Station):
    shown: list[ShownCode] = []
    station.reachable = True
    station.on_show_code.add(shown.append)
    station.show_code()
    wrong = "0000" if shown[0].code != "0000" else "1111"
    assert isinstance(station.arm_by_code(wrong, "command line"), Refused)
    assert station.arming.armed is None


def test_while_the_board_runs_its_own_job_nothing_starts_and_the_arming_stays(station: Station):
    station.reachable, station.own_job = True, "it prints from its card"
    assert station.standing is Standing.OWN_JOB
    station.arm("button")
    assert why(station.ask_start(SMALL)) == "it prints from its card"
    station.own_job = ""
    assert station.ask_start(SMALL) == Accepted()


async def test_a_hold_and_a_lost_line_are_told_before_a_job_of_the_boards_own(station: Station):
    station.own_job = "it prints from its card"
    assert station.standing is Standing.NO_LINE
    station.reachable = True
    station.desk.tell(STARTED)
    assert station.standing is Standing.MOVING
