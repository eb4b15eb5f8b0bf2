"""What the operator is told: plain sentences, a turn in degrees and in parts of a turn."""

import inspect
from fractions import Fraction

import pytest
from bench_files import machine_file
from paper_bed import bed_built, level_study, machine_for
from test_schedule import place
from workshop import probe_loop, rig_check, study_file

from hostctl.config.study import Gauge
from hostctl.deeds import TurnScrew
from hostctl.news import HoldBegan
from hostctl.run import wording
from hostctl.run.holds import hold_wording
from hostctl.run.procedures.turning_away import turned_away
from hostctl.run.steps.levelling import words as level_words
from hostctl.run.wording import Words
from hostctl.turns import PARTS_OF_A_TURN, share_of_a_turn, turn_in_words


@pytest.mark.parametrize(
    ("turn_deg", "words"),
    [
        (8, "8°"),
        (15, "15°, a twenty-fourth of a turn"),
        (71, "71°, a sixth of a turn and 11°"),
        (77, "77°, a quarter of a turn less 13°"),
        (89, "89°, about a quarter of a turn"),
        (90, "90°, a quarter of a turn"),
        (105, "105°, a quarter of a turn and 15°"),
        (180, "180°, half a turn"),
        (350, "350°, a full turn less 10°"),
        (360, "360°, a full turn"),
        (368, "368°, a full turn and 8°"),
        (463, "463°, a full turn, a quarter of a turn and 13°"),
        (810, "810°, 2 turns and a quarter of a turn"),
    ],
)
def test_a_turn_is_told_in_degrees_and_in_parts_of_a_turn(turn_deg, words):
    assert turn_in_words(turn_deg) == words


def test_part_and_degrees_over_make_the_turn_again():
    """`1 1/4 + 13°` is told to within the 2 degrees that hands turn by."""
    for turn_deg in range(1081):
        share = share_of_a_turn(turn_deg).replace("\N{MINUS SIGN} ", "-").replace("+ ", "")
        over = [float(one[:-1]) for one in share.split() if one.endswith("°")]
        turns = [Fraction(one) for one in share.split() if not one.endswith("°")]
        hardly_any = min(PARTS_OF_A_TURN) if share == "0" else 2
        assert abs(float(sum(turns)) * 360 + sum(over) - turn_deg) <= hardly_any, turn_deg


A_TURN = turned_away(machine_file(), place().point, 120)
ALL_WORDS = [
    wording.start(study_file(), machine_file()),
    wording.start(probe_loop(), machine_file(park=None)),
    hold_wording.go_on_after_hold(HoldBegan(reason="A cable came loose."), must_home=True),
    hold_wording.go_on_after_hold(HoldBegan(reason="A cable came loose."), must_home=False),
    wording.turn_away(A_TURN, place()),
    wording.set_gap(study_file(), place()),
    wording.lay_block(study_file(gauge=Gauge(block_mm=4.0)), place()),
    wording.lay_block(study_file(), place()),
    wording.take_block(),
    wording.take_block_before_homing(),
    wording.change_hands(study_file(), place()),
    wording.zero_indicator(study_file(), place(0)),
    wording.read_indicator(place(), 0.01),
    wording.keep_far_reading(study_file(), 2.5),
]


@pytest.mark.parametrize("words", ALL_WORDS)
def test_each_prompt_is_a_sentence_that_fits_a_phone_and_says_what_moves(words: Words):
    assert words.text[0].isupper()
    assert words.text.endswith(".")
    assert len(words.text) <= 120
    for said in (words.detail, words.once):
        assert not said or said.endswith(".")
    assert words.moves_next.endswith(".")
    assert "!" not in words.text + words.detail


def test_before_a_comparison_the_height_is_told_that_the_nozzle_comes_down_to():
    words = wording.start(study_file(), machine_file(set_z_mm=0.2))
    assert "comes down to z 0.2 mm: the bed must be lower there" in words.detail
    assert "comes down" not in wording.start(rig_check(), machine_file()).detail


def test_a_turn_is_told_in_figures_as_in_words():
    words = wording.turn_away(A_TURN, place())
    turn = words.deed
    assert isinstance(turn, TurnScrew)
    assert f"the {turn.screw} screw" in words.text
    assert f"{turn.turn_deg}°, a third of a turn, {turn.direction}, seen from above" in words.text


@pytest.mark.parametrize(
    ("just_kept", "said"),
    [
        (None, None),
        (place(0), "Redo takes the zero again."),
        (place(2), "Redo takes the last reading again."),
    ],
)
def test_redo_is_offered_where_there_is_something_to_take_again(just_kept, said):
    detail = wording.turn_away(A_TURN, place(), just_kept).once
    assert said is None or said in detail
    assert ("Redo" in detail) == (said is not None)


def test_a_turn_whose_way_the_machine_file_does_not_tell_has_no_direction():
    words = wording.turn_away(turned_away(machine_file(screws=[]), place().point, 120), place())
    assert words.deed == TurnScrew(screw=place().point, turn_deg=120, direction=None)


@pytest.mark.parametrize("study", [study_file(), probe_loop()])
def test_the_start_says_what_will_move_and_what_the_emergency_stop_is(study):
    detail = wording.start(study, machine_file(port="/dev/ttyUSB0")).detail
    assert "mains switch: it is the emergency stop; hold, end and stop are not" in detail
    assert "mains switch" not in wording.start(study, machine_file()).detail
    assert "rises 10 mm" in detail
    assert "front-left" in detail
    assert "maker's manual" in detail


def test_the_start_of_a_levelling_says_first_where_the_bed_must_be_and_all_cautions():
    machine = machine_for(bed_built(), port="/dev/ttyUSB0")
    detail = level_words.start(level_study(), machine).detail
    assert detail.startswith(
        "The bed must be lower than 3 mm everywhere, and lower than the nozzle where the machine "
        "homes. "
    )
    assert len(detail) < 640  # of which 76 a line, nine lines
    probe = level_study(gauge=Gauge(kind="probe", resolution_mm=0.0025))
    by_probe = level_words.start(probe, machine).detail
    assert by_probe.startswith("The bed must be lower than the nozzle where the machine homes. ")
    for said in (detail, by_probe):
        for caution in (
            "See that nothing is above the head or in its way",
            "rises 10 mm",
            "then all axes home anew",
            "It moves only after an answer, and a countdown",
            "mains switch: it is the emergency stop; hold, end and stop are not",
            "Nozzle cold, bed cold",
            "maker's manual",
        ):
            assert caution in said


def test_no_stop_of_ours_is_called_an_emergency_stop():
    source = inspect.getsource(wording)
    assert source.count("emergency") == 1


def test_a_stop_that_reached_nothing_is_said_in_a_sentence():
    said = hold_wording.stopped("command line", went_out=False)
    assert said.startswith("STOP was given on command line, but the line was down, so the machine")
    assert ": the machine was told to halt at once" in hold_wording.stopped("page", went_out=True)
