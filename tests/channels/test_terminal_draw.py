"""What the terminal shows: kept up to date from the news, and drawn to fit any size."""

import re
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime

import pytest
from a_place import A_PLACE

from hostctl.channels.terminal.chart import chart
from hostctl.channels.terminal.draw import PLAIN, SIMULATED_NOTE, STOP_NOTE, WORDS_NOTE, Look, draw
from hostctl.channels.terminal.letters import ROWS, large
from hostctl.channels.terminal.notes import note_after
from hostctl.channels.view.beside import TraceView
from hostctl.channels.view.seen import view_of_run
from hostctl.channels.view.view import StationView
from hostctl.config.find import SHIPPED
from hostctl.daemon.assembly.plan import machine_file, plan_from, study_file
from hostctl.deeds import ChangeHands, ClearBed, ReadIndicator, SetGap, TurnScrew
from hostctl.errors import ConfigError
from hostctl.news import (
    AnswerRefused,
    CountdownTicked,
    DecisionKept,
    HoldBegan,
    HoldLifted,
    LiveReading,
    Moving,
    News,
    Prompt,
    PromptClosed,
    PromptOpened,
    ReadingKept,
    RunFinished,
    RunStarted,
    TrialMarked,
)
from hostctl.records import Position, Reading, Temperatures
from hostctl.report.document.plain_ascii import in_ascii
from hostctl.run.order import RunOrder
from hostctl.run.ready import start_words
from hostctl.run.record.course import Course, course_after
from hostctl.run.wording import CLEAR_HANDS
from hostctl.store.rows import LEVELLED

NOW = datetime(2026, 11, 25, tzinfo=UTC)
NOT_TOLD = HoldBegan(reason="x", stopped=True, not_told=True)
STARTED = RunStarted(
    run=3, study="three-methods", machine="sim-220", trials_total=60, resumed=False
)
PLACE = replace(A_PLACE, run=3, method="feeler-gauge")
TEXT = "Turn the screw until the leaf slides under the nozzle with a light drag."
MOVES = "The head lifts and brings the indicator over the same place."
SET = Prompt(
    prompt_id="a",
    deed=SetGap(method="paper-slip"),
    text=TEXT,
    detail="For volunteer-a. Confirm when it is set. Take your hands out of the machine first.",
    moves_next=MOVES,
    place=PLACE,
    opened_at=NOW,
    resolution_mm=None,
)
TURN = TurnScrew(screw="front-left", turn_deg=120, direction="clockwise")
READ = replace(SET, prompt_id="b", deed=ReadIndicator(), text="Read it.", resolution_mm=0.01)


def kept(value_mm: float, *, block: int = 1, done: int = 1, zero: bool = False) -> ReadingKept:
    return ReadingKept(
        reading_id=done,
        place=replace(PLACE, block=block, trial=0 if zero else done, trials_done=done - 1),
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.01,
            taken_at=NOW,
            source="typed",
            at=Position(x_mm=5, y_mm=30, z_mm=5),
            temperatures=Temperatures(),
        ),
        relative_mm=value_mm,
        is_zero=zero,
        channel="terminal",
    )


@dataclass(frozen=True)
class Heard:
    """What a terminal has heard so far."""

    course: Course = field(default_factory=Course)
    note: str = ""

    def then(self, news: News, at_s: float) -> "Heard":
        return Heard(course_after(self.course, news, lambda: at_s), note_after(self.note, news))

    @property
    def view(self) -> StationView:
        return view_of_run(self.course)


def heard(*news: News, pace_s: float = 20.0) -> Heard:
    so_far = Heard()
    for turn, item in enumerate(news):
        so_far = so_far.then(item, turn * pace_s)
    return so_far


def drawn(
    so_far: Heard, *, typed: str = "", columns: int = 80, rows: int = 24, look: Look = PLAIN
) -> list[str]:
    return draw(so_far.view, note=so_far.note, typed=typed, columns=columns, rows=rows, look=look)


def screen(so_far: Heard, *, typed: str = "", columns: int = 80, rows: int = 24) -> str:
    return "\n".join(drawn(so_far, typed=typed, columns=columns, rows=rows))


@pytest.mark.parametrize(
    ("news", "headline"),
    [
        ([], "WAIT"),
        ([STARTED, PromptOpened(prompt=SET)], "SET GAP"),
        ([STARTED, PromptOpened(prompt=replace(SET, deed=ClearBed()))], "DO THIS"),
        ([STARTED, PromptOpened(prompt=replace(SET, deed=TURN))], "TURN SCREW"),
        (
            [
                STARTED,
                PromptOpened(prompt=replace(SET, deed=ClearBed(), place=None)),
            ],
            "READY?",
        ),
        ([STARTED, PromptOpened(prompt=READ)], "READ INDICATOR"),
        ([STARTED, CountdownTicked(seconds_left=3, what="It lifts.")], "MOVES IN 3"),
        ([STARTED, Moving(what="It lifts.")], "MOVING"),
        ([STARTED, HoldBegan(reason="The line is lost.")], "ON HOLD"),
        ([STARTED, HoldBegan(reason="x"), PromptOpened(prompt=SET)], "ON HOLD"),
        ([STARTED, HoldBegan(reason="x"), HoldLifted(channel="terminal")], "WAIT"),
        ([STARTED, HoldBegan(reason="x", stopped=True)], "STOPPED"),
        ([STARTED, NOT_TOLD], "SWITCH IT OFF"),
        ([STARTED, NOT_TOLD, PromptOpened(prompt=SET)], "SWITCH IT OFF"),
        ([STARTED, NOT_TOLD, HoldBegan(reason="x", stopped=True)], "STOPPED"),
        ([STARTED, NOT_TOLD, HoldLifted(channel="terminal")], "WAIT"),
        ([STARTED, HoldBegan(reason="x", stopped=True), HoldBegan(reason="y")], "ON HOLD"),
        ([STARTED, PromptOpened(prompt=SET), PromptClosed(prompt_id="a", because="x")], "WAIT"),
        ([STARTED, RunFinished(run=3, complete=True, reason="all done")], "FINISHED"),
        ([STARTED, RunFinished(run=3, complete=False, reason="ended")], "ENDED"),
    ],
)
def test_the_headline_says_what_is_going_on(news: list[News], headline: str):
    assert heard(*news).view.headline == headline


def test_readings_shown_are_those_of_the_block_in_hand():
    first = heard(STARTED, kept(0, zero=True), kept(0.01), kept(-0.02, done=2))
    assert first.view.readings_mm == (0.01, -0.02)
    assert first.then(kept(0.05, block=2), 99).view.readings_mm == (0.05,)
    elsewhere = replace(READ, place=replace(PLACE, block=2, trial=0))
    assert first.then(PromptOpened(prompt=elsewhere), 99).view.readings_mm == ()


def test_a_reading_made_void_leaves_the_dots_and_the_last_reading():
    void = TrialMarked(place=replace(PLACE, trial=2), mark="void", reason="redo was said")
    ask = PromptOpened(prompt=replace(SET, place=replace(PLACE, trial=2, attempt=2)))
    before = [STARTED, kept(0.03, done=1), kept(-0.02, done=2)]
    assert "last −0.02" in screen(heard(*before, ask))
    shown = screen(heard(*before, void, ask))
    assert "last +0.03" in shown
    assert shown.count("●") == 1


def test_a_block_begun_again_is_said_and_leaves_the_dots():
    lost = TrialMarked(place=PLACE, mark="void", reason="zero lost", whole_block=True)
    shown = screen(heard(STARTED, kept(0.03), lost))
    assert "This block is begun again: zero lost." in shown
    assert "●" not in shown


def test_a_trial_counts_as_soon_as_it_is_kept_or_skipped_and_no_more_once_it_is_void():
    second = replace(PLACE, trial=2, trials_done=1)
    moving = Moving(what="The head lifts.")
    before = [STARTED, kept(0, zero=True), kept(0.03, done=1), moving]
    skipped = TrialMarked(place=second, mark="skipped", reason="said on terminal")
    void = TrialMarked(place=replace(PLACE, trial=1), mark="void", reason="redo was said")
    assert "0 of 60 done" in screen(heard(*before[:2]))
    assert "1 of 60 done" in screen(heard(*before))
    assert "1 of 60 done, 1 skipped" in screen(heard(*before, skipped, moving))
    anew = TrialMarked(place=second, mark="void", reason="zero lost", whole_block=True)
    assert "skipped" not in screen(heard(*before, skipped, anew, moving))
    assert "0 of 60 done" in screen(heard(*before, void, moving))


@pytest.mark.parametrize(
    ("news", "note"),
    [
        (AnswerRefused(prompt_id="a", channel="x", reason="it came late"), "it came late"),
        (TrialMarked(place=PLACE, mark="void", reason="the zero was lost"), "the zero was lost"),
    ],
)
def test_what_did_not_count_is_said(news: News, note: str):
    assert note in screen(heard(STARTED, news))


def test_what_was_said_of_one_question_does_not_stand_beside_the_next():
    asked = heard(STARTED, PromptOpened(prompt=READ))
    too_soon = replace(asked, note="Too soon after the question: look, then press again.")
    following = too_soon.then(PromptClosed(prompt_id="b", because="answered"), 0.0)
    following = following.then(PromptOpened(prompt=SET), 0.0)
    assert "Too soon" not in screen(following)


@pytest.mark.parametrize("columns", [40, 60, 80, 132])
@pytest.mark.parametrize("rows", [12, 20, 24, 50])
@pytest.mark.parametrize("prompt", [SET, READ], ids=["set", "read"])
def test_the_screen_fits_any_size(columns: int, rows: int, prompt: Prompt):
    asked = heard(STARTED, kept(0.02), PromptOpened(prompt=prompt))
    lines = drawn(asked, typed="0.0", columns=columns, rows=rows)
    visible = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert len(lines) == rows
    assert max(len(line) for line in visible) <= columns


@pytest.mark.parametrize(("columns", "rows"), [(40, 12), (40, 14), (60, 16), (80, 18)])
def test_the_number_being_typed_is_seen_on_the_smallest_screen(columns: int, rows: int):
    read = replace(READ, text=TEXT, typed_in_graduations=True)
    asked = heard(STARTED, kept(0.02), PromptOpened(prompt=read))
    shown = re.sub(r"\x1b\[[0-9;]*m", "", screen(asked, typed="-2", columns=columns, rows=rows))
    assert "-2_ graduations of 0.01 mm" in shown
    assert "READ INDICATOR" in shown
    assert "[enter] keep the number" in shown


@pytest.mark.parametrize(("columns", "rows"), [(60, 20), (60, 24), (80, 24), (132, 40)])
def test_the_deed_what_moves_next_and_the_keys_are_always_there(columns: int, rows: int):
    asked = heard(STARTED, kept(0.02), PromptOpened(prompt=SET))
    words = " ".join(
        re.sub(r"\x1b\[[0-9;]*m", "", screen(asked, columns=columns, rows=rows)).split()
    )
    assert TEXT in words
    assert f"Moves next: {MOVES}" in words
    assert "[enter] done" in words
    assert STOP_NOTE in words


def test_a_typed_reading_is_shown_large():
    shown = screen(heard(STARTED, PromptOpened(prompt=READ)), typed="-0.02")
    assert all(line in shown for line in large("-0.02_"))


def test_readings_are_dots_on_the_grid_of_graduations():
    readings = [kept(0.02, done=1), kept(0.02, done=2), kept(-0.01, done=3)]
    shown = screen(heard(STARTED, *readings, PromptOpened(prompt=SET)))
    rows = [line for line in shown.splitlines() if "●" in line]
    assert [row.count("●") for row in rows] == [1, 2]
    assert "−0.03" in shown
    assert "last −0.01" in shown


def test_without_colour_no_colour_is_sent():
    plain = screen(heard(STARTED, PromptOpened(prompt=SET)))
    coloured = drawn(heard(STARTED, PromptOpened(prompt=SET)), look=Look())
    assert not re.search(r"\x1b\[[0-9;]*3\dm", plain)
    assert re.search(r"\x1b\[[0-9;]*3\dm", "".join(coloured))


def test_large_letters_are_as_high_as_they_say_and_of_even_width():
    lines = large("READ INDICATOR 0.5")
    assert len(lines) == ROWS
    assert len({len(line) for line in lines}) == 1


@pytest.mark.parametrize("key", "0123456789+-.,_")
def test_each_key_of_a_number_is_drawn_large_and_unlike_the_others(key: str):
    others = [large(other) for other in "0123456789+-.,_" if other != key]
    assert any(line.strip() for line in large(key))
    assert large(key) not in others


CHANGE = replace(SET, deed=ChangeHands(operator="volunteer-b", method="paper-slip"))


def test_who_and_which_method_stand_large_one_below_the_other():
    shown = screen(heard(STARTED, PromptOpened(prompt=CHANGE)))
    assert all(line in shown for line in large("NOW: VOLUNTEER-B") + large("PAPER SLIP"))
    mixed = replace(SET, new_hands=True, place=replace(PLACE, operator="b", method="contact-light"))
    shown = screen(heard(STARTED, PromptOpened(prompt=mixed)))
    assert all(line in shown for line in large("NOW: B") + large("CONTACT LIGHT"))


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("volunteer-bcd", ["NOW:", *large("VOLUNTEER-BCD")]),
        ("volunteer-from-afar", ["NOW: VOLUNTEER-FROM-AFAR"]),
        ("élodie", ["NOW: ÉLODIE"]),  # no letter of a name is left out
    ],
)
def test_a_name_that_can_not_be_drawn_large_stands_there_as_it_is(name: str, lines: list[str]):
    asked = replace(CHANGE, deed=ChangeHands(operator=name, method="paper-slip"))
    shown = screen(heard(STARTED, PromptOpened(prompt=asked)))
    assert all(line in shown for line in lines)
    assert all(line in shown for line in large("PAPER SLIP"))


def test_that_hands_are_out_stands_right_above_the_keys_at_any_height():
    out = "The bed is at 60 °C: don't touch it. Take your hands out of the machine first."
    asked = replace(SET, detail=f"For volunteer-a. {out}", hands_out=out)
    for rows in (14, 18, 24, 50):
        shown = drawn(heard(STARTED, kept(0.02), PromptOpened(prompt=asked)), rows=rows)
        plain = [re.sub(r"\x1b\[[0-9;]*m", "", line).strip() for line in shown]
        keys = next(at for at, line in enumerate(plain) if line.startswith("[enter] done"))
        assert " ".join(plain[keys - 2 : keys]).endswith(out)
        assert " ".join(plain).count("Take your hands out") == 1


@pytest.mark.parametrize(
    ("news", "moves"),
    [
        (CountdownTicked(seconds_left=3, what="It lifts."), True),
        (Moving(what="It lifts."), True),
        (PromptOpened(prompt=SET), False),
        (HoldBegan(reason="x"), False),
        (RunFinished(run=3, complete=True, reason="all done"), False),
    ],
)
def test_what_really_stops_it_is_bold_while_something_moves_and_quiet_otherwise(
    news: News, moves: bool
):
    last = screen(heard(STARTED, Moving(what="It lifts."), news)) if not moves else ""
    shown = last or screen(heard(STARTED, news))
    tone = PLAIN.strong if moves else PLAIN.faint
    assert f"{tone}{STOP_NOTE}" in shown
    simulated = screen(heard(replace(STARTED, simulated=True), news))
    assert f"{PLAIN.faint}{SIMULATED_NOTE}" in simulated
    assert "mains switch" not in simulated


STUDIES = sorted(path.stem for path in (SHIPPED / "studies").glob("*.yaml"))


@pytest.mark.parametrize("study", STUDIES)
def test_all_that_is_said_before_the_first_motion_fits_80_by_24(study: str):
    for machine in ("sim-220", "sim-tri"):
        with suppress(ConfigError):
            plan = plan_from(study_file(study), machine_file(machine))
    real = plan.machine.model_copy(update={"port": "/dev/ttyUSB0"})
    order = RunOrder(study=plan.study, machine=real, study_text="", machine_text="", seed=1)
    words = start_words(order)
    first = replace(
        SET,
        deed=words.deed,
        text=words.text,
        detail=f"{words.detail} {CLEAR_HANDS}",
        hands_out=CLEAR_HANDS,
        moves_next=words.moves_next,
        place=None,
    )
    shown = drawn(heard(replace(STARTED, study=study), PromptOpened(prompt=first)))
    said = " ".join(" ".join(re.sub(r"\x1b\[[0-9;]*m", "", line) for line in shown).split())
    assert f"{words.text} {words.detail} Moves next: {words.moves_next} {CLEAR_HANDS}" in said
    assert "[enter] done" in said
    assert said.count("mains switch: it is the emergency stop") == 1
    assert STOP_NOTE in said


def test_names_are_never_broken_at_their_hyphens():
    prompt = replace(SET, text="The head lowers to the set height over back-right now.")
    lines = screen(heard(STARTED, PromptOpened(prompt=prompt)), columns=52).splitlines()
    assert any("back-right" in line for line in lines)
    assert not any(line.rstrip().endswith("back-") for line in lines)


def test_while_held_the_keys_offer_no_hold_and_while_it_moves_they_do():
    held = [STARTED, HoldBegan(reason="x"), PromptOpened(prompt=replace(SET, place=None))]
    assert "[space]" not in screen(heard(*held))
    assert "[space] hold" in screen(heard(STARTED, HoldBegan(reason="x")))
    assert "[space] hold" in screen(heard(STARTED, Moving(what="It lifts.")))


def test_a_trial_made_void_is_named():
    void = TrialMarked(place=replace(PLACE, trial=2), mark="void", reason="redo was said")
    assert "Trial 2 void: redo was said." in screen(heard(STARTED, void))


def test_a_simulated_indicator_stands_beside_what_is_asked():
    shown = screen(heard(STARTED, PromptOpened(prompt=replace(READ, text="Read it."))))
    assert "Simulated" not in shown
    simulated = replace(READ, simulated_indicator_mm=-0.02)
    shown = screen(heard(STARTED, PromptOpened(prompt=simulated)))
    assert "Simulated indicator: −0.02 mm" in shown


def test_a_terminal_that_knows_ascii_alone_gets_no_large_letters_and_keeps_its_width():
    asked = heard(STARTED, kept(0.01), PromptOpened(prompt=replace(READ, text="±" * 200)))
    lines = drawn(asked, typed="0.0", look=replace(PLAIN, ascii_alone=True))
    shown = [re.sub(r"\x1b\[[0-9;]*m", "", line) for line in lines]
    assert "READ" in " ".join(shown)
    assert not set("▀▄█") & set("".join(shown))
    assert len(shown) == 24
    assert max(map(len, map(in_ascii, shown))) <= 80
    assert "[x] stop now" in "\n".join(shown)


def test_what_hold_and_end_mean_stands_beside_the_keys_where_there_is_room():
    asked = heard(STARTED, PromptOpened(prompt=SET))
    assert WORDS_NOTE in screen(asked)
    assert WORDS_NOTE not in screen(asked, rows=8)
    assert WORDS_NOTE not in screen(heard(STARTED, RunFinished(run=3, complete=True, reason="")))


BED = {
    **{"round": 2, "verdict": "turn", "tilt_mm": 0.1604, "tilt_low_mm": 0.138},
    **{"tilt_high_mm": 0.182, "heights": [], "turns": [], "noticed": []},
}


def test_how_the_bed_stood_is_said_while_its_screws_are_turned():
    levelled = DecisionKept(kind=LEVELLED, what="Round 2.", data=BED)
    so_far = heard(STARTED, levelled, PromptOpened(prompt=replace(SET, deed=TURN)))
    assert "round 2: tilt 0.160 mm" in screen(so_far)
    unreadable = replace(levelled, data={"heights": "of a later program"})
    assert "tilt" not in screen(heard(STARTED, unreadable, PromptOpened(prompt=SET)))


def test_which_screw_of_how_many_and_what_is_good_enough_is_said_at_each_turn():
    turn = {"x_mm": 0.0, "y_mm": 0.0, "u_deg": 1.0, "direction": "clockwise"}
    turns = [
        turn | {"screw": name, "turn_deg": deg}
        for name, deg in (("a", 9.0), ("b", 0.0), ("c", 8.0))
    ]
    told = DecisionKept(kind=LEVELLED, what="", data=BED | {"turns": turns, "within_mm": 0.05})
    assert SET.place is not None
    second = replace(SET, deed=TURN, place=replace(SET.place, block=4, trial=2, operator=""))
    shown = screen(heard(STARTED, told, PromptOpened(prompt=second)))
    assert "screw 2 of 2" in shown
    assert "round 2: tilt 0.160 mm, good enough 0.050" in shown
    read = replace(second, place=replace(SET.place, block=5, trial=2))
    assert "screw" not in screen(heard(STARTED, told, PromptOpened(prompt=read))).split("\n")[4]


def test_a_number_that_moves_is_shown_beside_the_one_to_be_seen_until_it_is_answered():
    live = LiveReading(prompt_id="a", target_mm=-0.03, present_mm=0.12, resolution_mm=0.01)
    so_far = heard(STARTED, PromptOpened(prompt=SET), live)
    assert "It shows +0.12 mm; turn until it shows −0.03 mm." in " ".join(screen(so_far).split())
    assert "It shows +0.12 mm." in screen(so_far.then(replace(live, target_mm=None), 9))
    assert "It shows" not in screen(so_far.then(replace(live, prompt_id="another"), 9))
    assert "It shows" not in screen(so_far.then(PromptClosed(prompt_id="a", because="x"), 9))


def test_readings_that_nobody_is_asked_between_are_drawn_in_order():
    loop = replace(STARTED, asks_nobody=True)
    so_far = heard(loop, *(kept(0.01 * (n // 4), done=n) for n in range(1, 17)))
    rows = [line for line in screen(so_far).splitlines() if "●" in line]
    assert [line.count("●") for line in rows] == [1, 4, 4, 4, 3]
    assert "last quarter less first: +0.03" in screen(so_far)


def test_a_loops_chart_says_what_it_counts_from_and_fits_a_terminal():
    trace = TraceView(means_mm=tuple(at / 500 for at in range(64)), each=256, drift_mm=-0.0931)
    lines = chart(trace, 0.0025, 79, "*")
    assert lines[-1].startswith("mm from its point's first, 256 touches a dot; ")
    assert max(map(len, lines)) <= 79
