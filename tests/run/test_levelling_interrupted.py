"""Levelling that is interrupted: noticed, said, safe, gone on with, no turn asked for twice."""

from collections.abc import Callable
from itertools import groupby
from statistics import fmean

import pytest
from paper_bed import level_study
from test_levelled_beds import bench_of, levelled, rounds, tilt_of_screws_mm, verdicts, warm_bench
from test_simulated_printer import Bench
from workshop import said

from hostctl.config.parts.outputs import Door
from hostctl.deeds import Direction, LiftHold, ReadIndicator, TurnScrew
from hostctl.news import Prompt, Word
from hostctl.run.desk import Desk
from hostctl.run.steps.levelling.words import OTHER_WAY

READINGS = 9
"""Of a round at four corners, the free plunger besides."""


def bench(**faults: object) -> Bench:
    """The machine with a door, before levelling."""
    made = bench_of(level_study(), **faults)
    made.file = made.file.model_copy(update={"door": Door(input="door")})
    return made


def is_whole(bench: Bench) -> None:
    """Level, cold, nothing crashed, every reading kept once, and no turn asked for twice."""
    assert verdicts(bench)[-1] in ("within-tolerance", "within-rig")
    assert tilt_of_screws_mm(bench) < 0.06
    world = bench.printer.world
    assert world.crashes == []
    assert world.bed_heater.target_c == world.nozzle_heater.target_c == 0
    kept = [(one.kept.place.block, one.kept.place.trial) for one in bench.store.counting]
    assert len(kept) == len(set(kept)) == READINGS * len(rounds(bench))
    asked = [spot_of(prompt) for prompt in bench.prompts if isinstance(prompt.deed, TurnScrew)]
    assert len(asked) == len(set(asked))


def spot_of(prompt: Prompt) -> tuple[int, int]:
    assert prompt.place is not None
    return prompt.place.block, prompt.place.trial


def commands_at(of: type, number: int) -> int:
    """How many commands were begun when this prompt is opened, counted from 1."""
    quiet, counts = bench(), list[int]()

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, of):
            counts.append(len(quiet.printer.board.obeyed))

    quiet.on_prompt = look
    levelled(quiet)
    assert quiet.holds == []
    return counts[number - 1]


# ---------------------------------------------------------------- while the machine works

WHEN = {
    "measuring": (ReadIndicator, 4),
    "on the way to a screw": (TurnScrew, 2),
    "measuring again": (ReadIndicator, READINGS + 4),
}


@pytest.mark.parametrize("when", WHEN)
@pytest.mark.parametrize(
    ("fault", "why"),
    [("power_cut_at_command", "the cable was pulled"), ("door_opened_at_command", "door is open")],
)
def test_a_power_cut_or_an_opened_door_on_the_way_holds_and_it_is_level_in_the_end(
    fault: str, why: str, when: str
):
    stopped = bench(**{fault: commands_at(*WHEN[when]) - 2})
    levelled(stopped)
    assert len(stopped.holds) == 1
    assert why in stopped.holds[0]
    is_whole(stopped)
    assert was_measured_anew(stopped) is (WHEN[when][0] is TurnScrew)


# ---------------------------------------------------------------- while hands are in it


def cut(stopped: Bench) -> None:
    board = stopped.printer.board
    board.switch_off()
    board.on_unplug(5.0)


def open_door(stopped: Bench) -> None:
    stopped.printer.world.move_door(True)


def halt(stopped: Bench) -> None:
    assert stopped.machine is not None
    stopped.machine.halt("page")


SAID = {cut: "the cable", open_door: "the door is open", halt: "STOP"}


@pytest.mark.parametrize("of", [TurnScrew, ReadIndicator])
@pytest.mark.parametrize("strike", SAID, ids=lambda strike: strike.__name__)
def test_struck_at_a_prompt_it_holds_safely_and_goes_on(strike: Callable[[Bench], None], of: type):
    stopped = bench()
    heights = strikes(stopped, strike, of, 2)
    levelled(stopped)
    is_whole(stopped)
    assert len(stopped.holds) == 1
    assert SAID[strike] in stopped.holds[0]
    at_strike, at_hold = heights
    assert at_hold == pytest.approx(at_strike, abs=1e-6)  # nothing moves before somebody looked
    assert was_measured_anew(stopped) is (of is TurnScrew)


def strikes(stopped: Bench, strike: Callable[[Bench], None], of: type, number: int) -> list[float]:
    """At the prompt of this kind and number; gives the head's heights then and at each hold."""
    met, heights = list[Prompt](), list[float]()

    def look(prompt: Prompt) -> None:
        if isinstance(prompt.deed, of):
            met.append(prompt)
            if len(met) == number:
                heights.append(stopped.printer.world.head.z_mm)
                strike(stopped)
        if isinstance(prompt.deed, LiftHold):
            heights.append(stopped.printer.world.head.z_mm)

    stopped.on_prompt = look
    return heights


def was_measured_anew(stopped: Bench) -> bool:
    return "measured anew" in " ".join(said for one in rounds(stopped) for said in one["noticed"])


@pytest.mark.parametrize("share", [-0.5, 0.0, 0.5, 1.0])
@pytest.mark.parametrize("number", [1, 2, 3, 4])
def test_turns_that_were_broken_off_leave_no_strain_and_no_other_height(number: int, share: float):
    """So much of a turn is made when somebody holds: four screws then carry the plate askew."""
    stopped, mean_mm = broken_off(bench(bed_mm=-0.6), number, share)
    is_whole(stopped)
    assert fmean(stopped.printer.world.bed.heights_mm.values()) == pytest.approx(mean_mm, abs=0.03)
    strained = any("strain the plate by" in each for each in rounds(stopped)[1]["noticed"])
    assert strained is not ((number == 1 and share == 0.0) or (number == 4 and share == 1.0))


def test_a_corner_that_is_not_met_after_a_turn_was_broken_off_is_reckoned_with_later():
    """It was turned down, out of the plunger's reach, until the next round."""
    stopped, _ = broken_off(bench(), 1, -0.5)
    is_whole(stopped)
    assert rounds(stopped)[1]["unmet"]


def test_a_bed_that_hangs_down_at_a_corner_that_is_never_met_is_not_called_level():
    stopped = bench()
    broken_off(stopped, 3, -0.5)
    last = rounds(stopped)[-1]
    assert (last["verdict"], last["unmet"]) == ("no-better", ["back-left"])
    assert last["tilt_high_mm"] < 0.05
    assert "turn the screw there up by hand" in stopped.store.record().events[-1].text


def broken_off(stopped: Bench, number: int, share: float) -> tuple[Bench, float]:
    """Levelled, held in this turn when so much was made; and how high the bed was before, mean."""
    world, made = stopped.printer.world, list[str]()
    mean_mm = fmean(world.bed.heights_mm.values())

    def turn(screw: str, degrees: float, direction: Direction) -> None:
        made.append(screw)
        if len(made) != number:
            world.turn_screw(screw, degrees, direction)
            return
        way = direction if share >= 0 else OTHER_WAY[direction]
        world.turn_screw(screw, abs(share) * degrees, way)
        assert stopped.desk.open_prompt is not None
        stopped.desk.answer(said(stopped.desk.open_prompt, Word.HOLD))

    world.turn_as_asked = turn
    assert stopped.carry_out().complete
    assert was_measured_anew(stopped)
    return stopped, mean_mm


# ---------------------------------------------------------------- warm


def hold(stopped: Bench) -> None:
    assert stopped.desk.open_prompt is not None
    stopped.desk.answer(said(stopped.desk.open_prompt, Word.HOLD))


@pytest.mark.parametrize("strike", [hold, cut], ids=lambda strike: strike.__name__)
def test_a_warm_bed_is_waited_for_anew_once_the_run_stood_still(strike: Callable[[Bench], None]):
    """A power cut leaves it cooling; nobody knows what a hold did."""
    stopped = warm_bench()
    strikes(stopped, strike, TurnScrew, 1)
    levelled(stopped)
    assert len(stopped.holds) == 1
    read = [one.place.block for one in stopped.store.readings]
    looks = max(read)
    assert [block for block, _ in groupby(read)] == [looks, 1, looks, 3, 5]
    assert read.count(looks) >= 8
    waits = [one for one in stopped.store.events if one.text.startswith("The warm bed is still")]
    assert len(waits) == 2


# ---------------------------------------------------------------- the program killed


class Killed(Exception):
    """The plug of the small computer was pulled while a prompt was open."""


def kill(stopped: Bench) -> None:
    raise Killed


@pytest.mark.parametrize("of", [TurnScrew, ReadIndicator])
@pytest.mark.parametrize("number", [1, 3, 4])
def test_killed_and_begun_again_it_asks_for_no_turn_twice(of: type, number: int):
    first = bench()
    strikes(first, kill, of, number)
    with pytest.raises(ExceptionGroup) as caught:
        first.carry_out()
    assert caught.group_contains(Killed)
    kept = list(first.store.readings)
    later = gone_on(first)
    assert later.carry_out(resume=later.store.record()).complete
    assert verdicts(later)[-1] in ("within-tolerance", "within-rig")
    assert tilt_of_screws_mm(later) < 0.06
    assert later.store.readings[: len(kept)] == kept
    later.prompts = [*first.prompts, *later.prompts]
    is_whole(later)
    assert was_measured_anew(later) is (of is TurnScrew)


def gone_on(stopped: Bench) -> Bench:
    """A new program at the same printer and record."""
    later = Bench.__new__(Bench)
    later.__dict__ |= stopped.__dict__
    later.desk, later.holds, later.prompts = Desk(), [], []
    later.on_prompt = lambda prompt: None
    return later
