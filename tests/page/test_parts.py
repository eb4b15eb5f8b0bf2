"""The parts of the page's server: codes, allowances, what is latest, the plot, the turn drawn."""

import asyncio
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from page_bench import MACHINE, ROOT, place

from hostctl.channels.page.access.allowance import Allowance
from hostctl.channels.page.access.guards import is_loopback, is_our_name
from hostctl.channels.page.access.pairing import Pairing
from hostctl.channels.page.access.sessions import MOST, Sessions
from hostctl.channels.page.live.lately import Lately, read_lately
from hostctl.channels.page.live.latest import Latest
from hostctl.channels.page.live.on_page import on_page
from hostctl.channels.view.data import Json
from hostctl.channels.view.seen import view_of
from hostctl.config.load import load_machine
from hostctl.config.machine import Machine
from hostctl.deeds import SetGap
from hostctl.news import News, Prompt, PromptOpened, ReadingKept, TrialMarked
from hostctl.records import Place, Position, Reading, Temperatures
from hostctl.run import wording
from hostctl.run.procedures.turning_away import lowering, screw_at, turned_away
from hostctl.run.station import Station
from hostctl.run.wording import Words
from hostctl.store.rows import NewMark, NewReading, NewRun
from hostctl.store.store import Store

EPOCH = datetime(2031, 5, 6, 7, 0, 0, tzinfo=UTC)
ASSETS = ROOT / "hostctl/channels/page/assets"


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.s = 0.0

    def now(self) -> datetime:
        return EPOCH + timedelta(seconds=self.s)


# ------------------------------------------------------------------ pairing and sessions


def test_a_pairing_code_serves_once():
    pairing = Pairing(Clock().now)
    code = pairing.offer("http://192.0.2.7:8477/pair").code
    assert pairing.take(code)
    assert not pairing.take(code)


def test_a_pairing_code_is_eight_signs_none_of_them_mistaken_for_another():
    codes = [Pairing(Clock().now).offer("http://192.0.2.7:8477/pair").code for _ in range(50)]
    assert {len(code) for code in codes} == {8}
    assert set("".join(codes)) & set("01IO") == set()
    assert len(set(codes)) == 50


@pytest.mark.parametrize(("age_s", "taken"), [(299, True), (300, False)])
def test_a_pairing_code_lasts_five_minutes(age_s: int, taken: bool):
    clock = Clock()
    pairing = Pairing(clock.now)
    code = pairing.offer("http://192.0.2.7:8477/pair").code
    clock.s = age_s
    assert pairing.take(code) is taken


def test_setting_the_clock_back_does_not_make_a_pairing_code_last():
    clock, elapsed_s = Clock(), [0.0]
    pairing = Pairing(clock.now, clock=lambda: elapsed_s[0])
    code = pairing.offer("http://192.0.2.7:8477/pair").code
    clock.s = -86_400
    elapsed_s[0] = 300.0
    assert not pairing.take(code)


def test_of_many_codes_the_oldest_goes():
    pairing = Pairing(Clock().now)
    codes = [pairing.offer("http://192.0.2.7/pair").code for _ in range(9)]
    assert [pairing.take(code) for code in codes] == [False] + [True] * 8


def test_the_code_is_behind_the_hash_where_no_log_sees_it():
    offer = Pairing(Clock().now, lambda: "K7QM2XHD").offer("http://192.0.2.7:8477/pair")
    assert offer.url == "http://192.0.2.7:8477/pair#K7QM2XHD"
    assert "K7QM 2XHD" in offer.terminal()
    assert "\u2588" in offer.terminal() or "\u2580" in offer.terminal()
    assert offer.svg().startswith("<svg")


def test_a_session_runs_out_and_the_oldest_of_too_many_goes():
    clock = Clock()
    sessions = Sessions(clock.now)
    cookies = [sessions.begin() for _ in range(MOST + 1)]
    assert [sessions.knows(cookies[0]), sessions.knows(cookies[1])] == [False, True]
    clock.s = timedelta(days=14).total_seconds()
    assert not sessions.knows(cookies[1])


@pytest.mark.parametrize("held", ["", "[]", "{", '{"a": 3}', '{"a": "2031-05-06T07:00:00"}'])
def test_a_damaged_file_of_sessions_lets_nobody_in_and_is_no_fault(tmp_path: Path, held: str):
    file = tmp_path / "phones.json"
    file.write_text(held)
    sessions = Sessions(Clock().now, file)
    assert not sessions.knows("a")
    assert sessions.knows(sessions.begin())


@pytest.mark.parametrize(
    ("listen", "alone"),
    [
        ("127.0.0.1", True),
        ("localhost", True),
        ("::1", True),
        ("0.0.0.0", False),
        ("192.0.2.7", False),
        ("::", False),
        ("workshop.local", False),
    ],
)
def test_only_a_loopback_address_goes_without_pairing(listen: str, alone: bool):
    assert is_loopback(listen) is alone


@pytest.mark.parametrize(
    ("host", "ours"),
    [
        ("127.0.0.1:8477", True),
        ("192.0.2.7:8477", True),
        ("[2001:db8::1]:8477", True),
        ("[2001:db8::1", False),  # no address, nor a name
        ("localhost", True),
        ("bench.workshop.example:8477", True),
        ("elsewhere.example:8477", False),
        ("", False),
    ],
)
def test_a_foreign_name_pointed_here_is_not_ours(host: str, ours: bool):
    assert is_our_name(host, "bench.workshop.example") is ours


def test_an_allowance_is_used_up_and_comes_back():
    clock = Clock()
    allowance = Allowance(lambda: clock.s, at_once=2, a_second=0.5)
    assert [allowance.take("a") for _ in range(3)] == [True, True, False]
    assert allowance.take("b")
    clock.s = 2.0
    assert [allowance.take("a") for _ in range(2)] == [True, False]


def test_an_allowance_forgets_the_least_recent_names():
    allowance = Allowance(lambda: 0.0, at_once=1, a_second=0.0)
    assert all(allowance.take(f"{number}") for number in range(257))
    assert allowance.take("0")
    assert not allowance.take("256")


# ------------------------------------------------------------------ what is latest, and the plot


def test_the_same_shown_again_is_no_change():
    latest = Latest()
    latest.put("a", {"standing": "resting"})
    number = latest.since(0)[0].number
    latest.put("a", {"standing": "resting"})
    assert latest.since(number) == []


def kept(value_mm: float, trial: int, block: int = 1) -> ReadingKept:
    reading = Reading(
        value_mm=value_mm,
        resolution_mm=0.01,
        taken_at=EPOCH,
        source="typed",
        at=Position(x_mm=30, y_mm=30, z_mm=5),
        temperatures=Temperatures(),
    )
    return ReadingKept(
        reading_id=trial,
        place=place(trial=trial, block=block),
        reading=reading,
        relative_mm=value_mm,
        is_zero=trial == 0,
        channel="phone page",
    )


def page_of(station: Station, lately: Lately | None = None) -> Json:
    """What the phones are sent of it."""
    return on_page(view_of(station), station.desk.course.last_block, lately or Lately())


def station_here() -> Station:
    station = Station("sim-220", now=Clock().now, studies=list)
    station.reachable = True
    return station


def shown(*news: News) -> list[float]:
    station = station_here()
    for item in news:
        station.desk.tell(item)
    return page_of(station)["plot"]["values_mm"]


async def test_the_plot_shows_a_block_without_its_zero():
    assert shown(kept(0.0, 0), kept(0.02, 1), kept(-0.01, 2)) == [0.02, -0.01]


async def test_a_reading_made_void_leaves_the_plot():
    void = TrialMarked(place=place(trial=1), mark="void", reason="redo was said")
    assert shown(kept(0.02, 1), kept(0.05, 2), void) == [0.05]


async def test_a_block_begun_again_leaves_the_plot_before_its_zero_is_read():
    lost = TrialMarked(place=place(trial=3), mark="void", reason="zero lost", whole_block=True)
    assert shown(kept(0.02, 1), kept(0.05, 2), lost) == []


async def test_a_skipped_trial_changes_nothing_in_the_plot():
    skipped = TrialMarked(place=place(trial=1), mark="skipped", reason="said")
    assert shown(kept(0.02, 1), skipped) == [0.02]


async def test_a_new_block_begins_a_new_plot():
    assert shown(kept(0.02, 1), kept(0.0, 0, block=2), kept(0.03, 1, block=2)) == [0.03]


async def test_the_last_block_stays_in_the_plot_until_the_next_has_a_reading():
    asked = Prompt(
        prompt_id="3-1-a",
        deed=SetGap(method="paper-slip"),
        text="Set it.",
        detail="",
        moves_next="",
        place=place(block=2, trial=0),
        opened_at=EPOCH,
        resolution_mm=None,
    )
    assert shown(kept(0.02, 1), PromptOpened(prompt=asked)) == [0.02]


async def test_what_is_on_record_is_plotted_until_something_is_read():
    lately = Lately(readings_mm=(0.01, 0.03), resolution_mm=0.01, whose="paper-slip")
    station = station_here()
    on_record = {"values_mm": [0.01, 0.03], "resolution_mm": 0.01, "whose": "paper-slip"}
    assert page_of(station, lately)["plot"] == on_record
    station.desk.tell(kept(0.05, 1))
    plot = page_of(station, lately)["plot"]
    assert plot["values_mm"] == [0.05]
    assert plot["whose"] == "paper-slip · volunteer-a · front-left"


# ------------------------------------------------------------------ the turn


TRI = load_machine(ROOT / "configs/machines/sim-tri.yaml")


async def page_asking(words: Words, at: Place | None) -> Json:
    """The page while the words are asked."""
    station = station_here()
    prompt = Prompt(
        prompt_id="3-1-a",
        deed=words.deed,
        text=words.text,
        detail=words.detail,
        moves_next=words.moves_next,
        place=at,
        opened_at=EPOCH,
        resolution_mm=None,
    )
    asking = asyncio.create_task(station.desk.ask(prompt))
    await asyncio.sleep(0)
    page = page_of(station)
    asking.cancel()
    return page


@pytest.mark.parametrize("deg", [15, 75, 360])
@pytest.mark.parametrize(("machine", "point"), [(MACHINE, "back-right"), (TRI, "back")])
async def test_the_turn_drawn_is_the_turn_asked_for(machine: Machine, point: str, deg: int):
    at = place(point=point)
    page = await page_asking(wording.turn_away(turned_away(machine, point, deg), at), at)
    screw = screw_at(machine, point)
    assert screw is not None
    assert page["headline"] == "Turn the screw"
    prompt = page["view"]["prompt"]
    assert (prompt["turn_screw"], prompt["turn_deg"]) == (screw.name, deg)
    assert prompt["turn_direction"] == lowering(screw)


async def test_a_turn_whose_way_is_not_known_is_asked_for_and_not_drawn():
    bare = MACHINE.model_copy(update={"screws": []})
    page = await page_asking(
        wording.turn_away(turned_away(bare, place().point, 120), place()), place()
    )
    assert page["headline"] == "Turn the screw"
    assert page["view"]["prompt"]["turn_direction"] is None


@pytest.mark.parametrize(
    ("notice", "shown"),
    [
        ("Run 3 was interrupted: hostctl start --resume 3", "Run 3 was interrupted."),
        ("x was not started: its arming ran out.", "x was not started: its arming ran out."),
        ("", ""),
    ],
)
def test_a_phone_is_told_no_command_of_a_terminal(notice: str, shown: str):
    station = Station("sim-220", now=Clock().now, studies=list)
    station.notice = notice
    assert page_of(station)["notice"] == shown


async def test_where_no_turn_is_asked_for_none_is_drawn():
    instruction = "Turn the screw 120° clockwise until the light comes on."
    words = Words(deed=SetGap(method="contact-light"), text=instruction)
    page = await page_asking(words, place())
    prompt = page["view"]["prompt"]
    assert page["headline"] == "Set the gap"
    assert prompt["deed"] == {"do": "set-gap", "hands_in": True, "method": "contact-light"}
    assert prompt["turn_deg"] is None


# ------------------------------------------------------------------ what is on record


async def test_after_a_restart_the_last_block_and_the_stopped_run_are_shown(tmp_path: Path):
    path = tmp_path / "hostctl.sqlite"
    async with Store.opened(path) as store:
        run = await store.add_run(
            NewRun(
                study="rig-check",
                title="Rig check",
                kind="rig-check",
                machine="sim-220",
                reference="first",
                study_text="",
                machine_text="",
                seed=7,
                started_at=EPOCH,
                program="hostctl",
            )
        )
        for trial, value_mm in enumerate((0.01, 0.03, 0.02)):
            await store.add_reading(new_reading(run, trial, value_mm))
        await store.add_mark(
            NewMark(
                run=run, block=1, round=1, trial=2, attempt=1, mark="void", reason="redo", at=EPOCH
            )
        )
    lately = read_lately(path, "sim-220")
    assert lately.readings_mm == pytest.approx((0.02,))
    assert lately.resolution_mm == 0.01
    assert [(one.run, one.study) for one in lately.stopped] == [(run, "rig-check")]
    assert read_lately(path, "another") == Lately()


def new_reading(run: int, trial: int, value_mm: float) -> NewReading:
    news = kept(value_mm, trial)
    return NewReading(
        place=replace(news.place, run=run),
        is_zero=news.is_zero,
        reading=news.reading,
        prompted_at=EPOCH,
        answered_at=EPOCH,
        channel="phone page",
    )


def test_without_a_database_nothing_is_on_record(tmp_path: Path):
    assert read_lately(tmp_path / "none.sqlite", "sim-220") == Lately()


# ------------------------------------------------------------------ the page's own files


WHEN_ASKED_FOR = "draft.js"  # a study by questions: no prompt waits for it


def test_the_whole_page_weighs_less_than_100_kb():
    files = [file for file in ASSETS.iterdir() if file.name != WHEN_ASKED_FOR]
    assert sum(file.stat().st_size for file in files) < 100_000


@pytest.mark.parametrize("file", sorted(ASSETS.iterdir()), ids=lambda file: file.name)
def test_a_file_of_the_page_names_no_other_host(file: Path):
    text = file.read_text().replace("http://www.w3.org/2000/svg", "")
    assert "http" not in text


@pytest.mark.parametrize("file", sorted(ASSETS.glob("*.html")), ids=lambda file: file.name)
def test_a_page_has_no_script_or_style_within(file: Path):
    text = file.read_text()
    assert "<style" not in text
    assert " style=" not in text
    assert " onclick" not in text
    assert "<script>" not in text


def test_every_module_that_the_page_loads_is_fetched_at_once():
    page = (ASSETS / "page.html").read_text()
    modules = {file.name for file in ASSETS.glob("*.js")} - {"pair.js", WHEN_ASKED_FOR}
    assert {name for name in modules if f'"/assets/{name}"' in page} == modules
