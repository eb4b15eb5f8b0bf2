"""How a station stands: one view of it, which page, messages, status and terminal all give."""

import asyncio
import json
from dataclasses import fields, replace
from datetime import UTC, datetime
from typing import Literal, get_args, get_type_hints

import pytest
from a_place import A_PLACE
from jsonschema import Draft202012Validator

from hostctl.channels.json_lines.json_words import object_for
from hostctl.channels.messages.outgoing import Outgoing
from hostctl.channels.messages.topics import Topics
from hostctl.channels.page.live.lately import Lately
from hostctl.channels.page.live.on_page import on_page
from hostctl.channels.view.data import as_data, from_data
from hostctl.channels.view.schema import FILE, schema_text
from hostctl.channels.view.seen import view_of, view_of_run
from hostctl.channels.view.view import FinishedView, StationView
from hostctl.deeds import Deed, Direction, TurnScrew
from hostctl.news import (
    CountdownTicked,
    HoldBegan,
    HoldLifted,
    Moving,
    News,
    Prompt,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
)
from hostctl.records import Position, Reading, Temperatures
from hostctl.run.record.report import ReportStanding, RunReport
from hostctl.run.station import Station

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PLACE = replace(A_PLACE, run=3, trial=2, trials_done=1, trials_total=6)
STARTED = RunStarted(
    run=3, study="rig-check", machine="bench", trials_total=6, resumed=True, trials_done=4
)
LIFTS = CountdownTicked(seconds_left=2, what="The head lifts.")
HELD = HoldBegan(reason="By phone.", stopped=True, not_told=True, taken_anew=2)
PROMPT = Prompt(
    prompt_id="3-1-a",
    deed=TurnScrew(screw="front-left", turn_deg=120, direction="clockwise"),
    text="Turn the screw.",
    detail="For volunteer-a.",
    moves_next="The head lifts.",
    place=PLACE,
    opened_at=NOON,
    resolution_mm=0.01,
    redo_takes=replace(PLACE, trial=1),
)
KEPT = ReadingKept(
    reading_id=7,
    place=PLACE,
    reading=Reading(
        value_mm=0.25,
        resolution_mm=0.01,
        taken_at=NOON,
        source="typed",
        at=Position(x_mm=5, y_mm=30, z_mm=5),
        temperatures=Temperatures(),
    ),
    relative_mm=0.02,
    is_zero=False,
    channel="button",
)
ENDED = RunFinished(run=3, complete=False, reason="said on page")

KEYS_OF_BEFORE = {
    *("machine", "standing", "headline", "why_no_line", "own_job", "heat", "notice", "warnings"),
    *("studies", "queued", "armed", "run", "prompt", "countdown", "moving", "hold", "stopped"),
    *("not_told", "readings_mm", "resolution_mm"),
}
"""Of one machine in `hostctl status --json`, as they were before there was a version."""
KEYS_OF_A_PROMPT_BEFORE = {
    *("event", "prompt_id", "kind", "text", "detail", "moves_next", "resolution_mm"),
    *("simulated_indicator_mm", "turn_screw", "turn_deg", "turn_direction"),
    *("run", "block", "round", "trial", "attempt", "method", "operator", "point"),
    *("trials_done", "trials_total"),
}


@pytest.fixture
def station() -> Station:
    station = Station("bench", now=lambda: NOON, studies=lambda: ["rig-check"])
    station.reachable = True
    return station


def told(station: Station, *news: News) -> StationView:
    """Its view once these news have come."""
    for item in news:
        station.desk.tell(item)
    return view_of(station)


async def asking(station: Station, prompt: Prompt = PROMPT) -> StationView:
    """Its view while the prompt is open."""
    asked = asyncio.create_task(station.desk.ask(prompt))
    await asyncio.sleep(0)
    view = view_of(station)
    asked.cancel()
    return view


def no_line(station: Station) -> None:
    station.reachable, station.why_unreachable = False, "nothing answers"


def halted(station: Station) -> None:
    station.halted_by = "page"
    no_line(station)


def own_job(station: Station) -> None:
    station.own_job = "It runs a job of its own."


def armed_and_warned(station: Station) -> None:
    station.arming.arm(by="button", for_s=60)
    station.warn("messages", "the broker is away")
    station.heat, station.notice = "bed 38 °C", "Run 7 was interrupted."


def reported(station: Station) -> None:
    report = RunReport(run=3, study="rig-check", complete=False)
    made = {"standing": ReportStanding.MADE, "file_name": "r.html", "answer": "It scatters."}
    station.offer_report(replace(report, **made))


WAYS = {
    "no line": (no_line, []),
    "halted": (halted, []),
    "own job": (own_job, []),
    "resting": (armed_and_warned, []),
    "begun": (lambda _: None, [STARTED]),
    "countdown": (lambda _: None, [STARTED, LIFTS]),
    "moving": (lambda _: None, [STARTED, Moving(what="It homes.")]),
    "asking": (lambda _: None, [STARTED, KEPT, PromptOpened(prompt=PROMPT)]),
    "asking of no trial": (lambda _: None, [PromptOpened(prompt=replace(PROMPT, place=None))]),
    "holding": (lambda _: None, [STARTED, KEPT, HELD]),
    "ended": (lambda _: None, [STARTED, KEPT, HELD, ENDED]),
    "reported": (reported, [STARTED, KEPT, ENDED]),
}


@pytest.fixture(params=WAYS.values(), ids=WAYS.keys())
async def stands(request: pytest.FixtureRequest, station: Station) -> Station:
    """The station, standing in each way that it can."""
    prepare, news = request.param
    prepare(station)
    told(station, *news)
    return station


# ------------------------------------------------------------------ what it says


@pytest.mark.parametrize(
    ("prepare", "news", "standing"),
    [
        (no_line, [], "no line"),
        (halted, [], "halted"),
        (halted, [STARTED], "moving"),
        (no_line, [STARTED, replace(HELD, not_told=False)], "halted"),
        (own_job, [], "own job"),
        (armed_and_warned, [], "resting"),
        (no_line, [STARTED], "moving"),
        (no_line, [PromptOpened(prompt=PROMPT)], "asking"),
        (own_job, [STARTED, PromptOpened(prompt=PROMPT), HELD], "holding"),
        (armed_and_warned, [STARTED, HELD, HoldLifted(channel="page")], "moving"),
        (armed_and_warned, [STARTED, HELD, ENDED], "resting"),
        (armed_and_warned, [STARTED, ENDED, HELD], "holding"),
    ],
)
async def test_how_it_stands(station: Station, prepare, news: list[News], standing: str):
    prepare(station)
    assert told(station, *news).standing == standing


async def test_what_is_over_is_not_in_the_view_any_more(station: Station):
    before = told(station, STARTED, KEPT, HELD)
    assert (before.hold, before.stopped, before.not_told, before.taken_anew) == (
        *("By phone.", True, True, 2),
    )
    assert before.run is not None
    after = told(station, ENDED)
    assert (after.hold, after.stopped, after.not_told, after.taken_anew) == ("", False, False, 0)
    assert (after.run, after.headline, after.finished) == (
        *(None, "resting", FinishedView(run=3, complete=False, reason="said on page")),
    )
    assert told(station, STARTED).finished is None


async def test_a_resumed_run_has_come_as_far_as_it_had(station: Station):
    run = told(station, STARTED).run
    assert run is not None
    assert (run.trials_done, run.trials_total) == (4, 6)


async def test_a_countdown_goes_with_the_motion_it_counts_to(station: Station):
    counting = told(station, STARTED, LIFTS)
    assert counting.countdown is not None
    assert (counting.headline, counting.countdown.seconds_left) == ("MOVES IN 2", 2)
    moving = told(station, Moving(what="It homes."))
    assert (moving.headline, moving.countdown, moving.moving) == ("MOVING", None, "It homes.")


async def test_of_a_prompt_it_says_which_words_would_be_taken(station: Station):
    view = await asking(station)
    assert view.prompt is not None
    assert view.prompt.answers == ("done", "redo", "skip")
    assert (view.prompt.redo_takes, view.prompt.trial) == (1, 2)
    bare = await asking(station, replace(PROMPT, place=None, redo_takes=None))
    assert bare.prompt is not None
    assert (bare.prompt.answers, bare.prompt.trial) == (("done",), None)


async def test_where_there_is_no_station_the_end_of_the_run_is_shown_too(station: Station):
    told(station, STARTED, KEPT, ENDED)
    view = view_of_run(station.desk.course)
    assert (view.headline, view.machine) == ("ENDED", "bench")
    assert view.run is not None
    assert (view.run.run, view.run.trials_done) == (3, 2)


# ------------------------------------------------------------------ one serialisation, one schema


def test_the_schema_in_the_file_is_the_one_the_types_make():
    assert FILE.read_text() == schema_text()
    Draft202012Validator.check_schema(json.loads(schema_text()))


async def test_a_view_as_data_is_what_its_schema_says_with_every_key(stands: Station):
    data = json.loads(json.dumps(as_data(view_of(stands))))
    schema = json.loads(FILE.read_text())
    Draft202012Validator(schema).validate(data)
    assert set(data) == set(schema["properties"]) == set(schema["required"])


async def test_the_schema_lets_nothing_pass_that_is_no_view(station: Station):
    check = Draft202012Validator(json.loads(FILE.read_text()))
    data = as_data(view_of(station))
    assert check.is_valid(data)
    assert not check.is_valid({**data, "standing": "asleep"})
    assert not check.is_valid({**data, "version": 2})
    assert not check.is_valid({key: value for key, value in data.items() if key != "prompt"})


async def test_a_view_comes_back_from_its_data_as_it_was(stands: Station):
    view = view_of(stands)
    assert from_data(StationView, json.loads(json.dumps(as_data(view)))) == view


NO_VIEWS: list[dict[str, object]] = [
    {"standing": "asleep"},
    {"version": 2},
    {"queued": "2"},
    {"queued": True},
    {"machine": None},
    {"readings_mm": ["0.02"]},
    {"run": {"run": 3}},
    {"prompt": {"deed": {"do": "dance", "hands_in": True}}},
    {"armed": {"by": "button", "until": "noon"}},
]
GIVEN = {
    str: "front-left",
    float: 2.5,
    float | None: 2.5,
    bool: True,
    Direction | None: "clockwise",
    Literal["largest-in", "smallest-out"]: "largest-in",
    Literal["above", "below"]: "below",
}
"""What is given for a field of a deed, by its type."""


@pytest.mark.parametrize("changed", NO_VIEWS, ids=str)
async def test_what_is_no_view_is_refused(station: Station, changed: dict[str, object]):
    with pytest.raises(ValueError, match=r"."):
        from_data(StationView, as_data(view_of(station)) | changed)


@pytest.mark.parametrize("kind", get_args(Deed), ids=lambda kind: kind.__name__)
async def test_each_deed_is_told_as_data_and_comes_back(station: Station, kind: type[Deed]):
    hints = get_type_hints(kind)
    given = {each.name: GIVEN[hints[each.name]] for each in fields(kind) if each.init}
    deed = kind(**given)
    view = await asking(station, replace(PROMPT, deed=deed))
    data = json.loads(json.dumps(as_data(view)))
    Draft202012Validator(json.loads(FILE.read_text())).validate(data)
    assert data["prompt"]["deed"] == {"do": deed.do, "hands_in": deed.hands_in, **given}
    assert from_data(StationView, data) == view


async def test_a_key_that_a_later_daemon_adds_is_passed_over(station: Station):
    view = view_of(station)
    assert from_data(StationView, as_data(view) | {"later": {"x": 1}}) == view


async def test_page_messages_and_status_give_the_same_data(stands: Station):
    data = as_data(view_of(stands))
    outgoing = Outgoing(stands, Topics("bench"), now=lambda: NOON)
    page = on_page(view_of(stands), stands.desk.course.last_block, Lately())
    assert page["view"] == data
    assert json.loads(outgoing.state())["view"] == data


async def test_a_prompt_is_told_in_the_words_of_json_lines(station: Station):
    view = await asking(station)
    assert as_data(view)["prompt"] == object_for(PromptOpened(prompt=PROMPT))


async def test_what_was_told_before_there_was_a_version_is_told_still(station: Station):
    told(station, STARTED, KEPT)
    data = as_data(await asking(station))
    assert set(data) >= KEYS_OF_BEFORE
    assert isinstance(data["prompt"], dict)
    assert set(data["prompt"]) >= KEYS_OF_A_PROMPT_BEFORE
    assert data["run"] == {
        **{"run": 3, "study": "rig-check", "trials_done": 1, "trials_total": 6},
        **{"seconds_left": None, "trials_skipped": 0, "simulated": False},
    }
    assert (data["readings_mm"], data["resolution_mm"]) == ([0.02], 0.01)
    station.arming.arm(by="button", for_s=60)
    assert as_data(view_of(station))["armed"] == {
        "by": "button",
        "until": "2026-11-25T12:01:00+00:00",
    }
    countdown = as_data(told(station, LIFTS))["countdown"]
    assert countdown == {"event": "countdown", "seconds_left": 2, "what": "The head lifts."}
