"""One step at a time towards a contact: what may move the nozzle, and what went over the wire."""

import re
from collections.abc import Callable
from contextlib import suppress

import pytest
from jumping_loop import in_jumping_time
from plate_bench import PlateBench, PlatePrinter
from small_printer import At

from hostctl.choices import DARK, LIT
from hostctl.config.machine import Span, Travel
from hostctl.deeds import TurnScrew, WatchLamp
from hostctl.errors import LinkError, MachineError
from hostctl.machine.descent.descent import NoContact, NoContactAtFloor
from hostctl.machine.permit import MotionForbidden
from hostctl.records import Position

TURN = TurnScrew(screw="front-left", turn_deg=120, direction="clockwise")


def moves(bench: PlateBench) -> list[str]:
    return bench.printer.moves


# ------------------------------------------------------------ one step


def test_a_step_asks_for_heat_moves_slowly_ends_and_is_proven_in_this_order():
    bench = PlateBench()
    assert in_jumping_time(bench.step()) == 0.95
    assert bench.printer.commands == ["M105", "G1 Z0.95 F60", "M400", "M114"]


def test_contact_is_asked_for_only_after_the_move_is_over_and_proven():
    bench = PlateBench()

    async def by_input() -> bool:
        return (await bench.machine.signals.inputs())["contact"] == "triggered"

    async def two() -> None:
        await bench.step(by_input)
        await bench.step(by_input)

    in_jumping_time(two())
    one = ["M119", "M105", "G1", "M400", "M114"]
    assert [command.split(" ")[0] for command in bench.printer.commands] == one * 2


def test_steps_are_coarse_down_to_the_bracket_and_fine_in_it_and_contact_ends_them():
    """Contact at 0.62 mm, in the bracket 0.70 to 0.55 mm."""
    bench = PlateBench()
    assert in_jumping_time(bench.to_contact()) == 0.62
    coarse = [0.95, 0.9, 0.85, 0.8, 0.75, 0.7]
    fine = [0.69, 0.68, 0.67, 0.66, 0.65, 0.64, 0.63, 0.62]
    assert bench.printer.heights_mm == coarse + fine
    assert bench.printer.offences == []


def test_a_start_between_hundredths_is_brought_onto_them_so_that_two_decimals_prove_each():
    bench = PlateBench(z_try_mm=0.734, blades_mm=(0.0, 0.15))
    in_jumping_time(bench.to_contact())
    assert bench.printer.heights_mm[:3] == [0.73, 0.72, 0.71]


def test_steps_finer_than_a_hundredth_go_with_a_board_that_reports_as_finely():
    bench = PlateBench(PlatePrinter(decimals=3), blades_mm=(0.37, 0.5), fine_mm=0.004)
    in_jumping_time(bench.to_contact())
    assert bench.printer.heights_mm[-3:] == [0.626, 0.622, 0.618]


def test_where_reports_are_coarser_than_a_step_it_is_not_proven_and_no_further_step_is_made():
    bench = PlateBench(PlatePrinter(decimals=1))
    with pytest.raises(MachineError, match=r"more coarsely than to 0\.01 mm"):
        in_jumping_time(bench.step())
    assert not bench.machine.homed
    assert len(moves(bench)) == 1


def test_a_head_that_did_not_go_down_is_found_out_though_it_is_within_the_usual_tolerance():
    """0.01 mm off is half of position_tolerance_mm; of a fine step it is the whole."""
    bench = PlateBench(z_try_mm=0.7, blades_mm=(0.0, 0.15))
    bench.printer.deaf_to_moves = True
    with pytest.raises(MachineError, match=r"the head is at .*z 0\.70.*turned up by hand"):
        in_jumping_time(bench.step())
    assert not bench.machine.homed


def test_a_report_damaged_once_is_asked_for_again():
    bench = PlateBench()
    bench.printer.false_reports_mm = [7.95, 0.96]
    assert in_jumping_time(bench.step()) == 0.95
    assert bench.printer.commands.count("M114") == 3
    assert bench.printer.commands.count("G1 Z0.95 F60") == 1


# ------------------------------------------------------------ never without its proof


def test_a_proof_is_good_once():
    bench = PlateBench()

    async def twice() -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        await bench.descent.step(proof)
        await bench.descent.step(proof)

    with pytest.raises(MachineError, match="contact was not asked for since the last step"):
        in_jumping_time(twice())
    assert len(moves(bench)) == 1
    assert bench.machine.homed


def test_a_step_that_was_refused_has_spent_its_proof():
    bench = PlateBench()

    async def refused() -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        bench.machine.permit.withdraw("hold was said on page")
        with pytest.raises(MotionForbidden):
            await bench.descent.step(proof)
        bench.machine.permit.give()
        await bench.descent.step(proof)

    with pytest.raises(MachineError, match="was not asked for"):
        in_jumping_time(refused())
    assert bench.printer.commands == []


def test_a_proof_of_ones_own_making_or_of_another_descent_moves_nothing():
    bench = PlateBench()
    other = bench.machine.descent(bench.bracket, bench.tie)

    async def with_proof_of_another() -> None:
        proof = await other.look(bench.dark)
        assert proof is not None
        await bench.descent.step(proof)

    with pytest.raises(MachineError, match="was not asked for"):
        in_jumping_time(with_proof_of_another())
    with pytest.raises(MachineError, match="was not asked for"):
        in_jumping_time(bench.descent.step(NoContact(1.0)))
    assert bench.printer.commands == []


def test_the_proof_before_the_last_is_worth_nothing():
    bench = PlateBench()

    async def with_the_older() -> None:
        older = await bench.descent.look(bench.dark)
        await bench.descent.look(bench.dark)
        assert older is not None
        await bench.descent.step(older)

    with pytest.raises(MachineError, match="was not asked for"):
        in_jumping_time(with_the_older())
    assert bench.printer.commands == []


def test_a_later_look_that_finds_contact_or_fails_takes_the_proof_away():
    bench = PlateBench()

    async def closed() -> bool:
        return True

    async def fails() -> bool:
        raise MachineError("contact", "it bounces", "See to it.")

    async def after(look: Callable[[], object]) -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        with suppress(MachineError):
            await bench.descent.look(look)  # type: ignore[arg-type]  # two kinds of look
        await bench.descent.step(proof)

    for look in (closed, fails):
        with pytest.raises(MachineError, match="was not asked for"):
            in_jumping_time(after(look))
    assert bench.printer.commands == []


def test_a_head_that_was_moved_since_makes_the_proof_worthless():
    bench = PlateBench()

    async def lifted() -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        await bench.machine.lift()
        bench.printer.commands.clear()
        await bench.descent.step(proof)

    with pytest.raises(MachineError, match="was not asked for"):
        in_jumping_time(lifted())
    assert bench.printer.commands == []


def test_a_head_that_is_moved_while_heat_is_asked_for_is_not_sent_down_from_there():
    bench = PlateBench()

    async def meanwhile() -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        heard = bench.machine.heaters.on_heard
        remove = heard.add(lambda _: bench.machine._head.found_at(higher))
        try:
            await bench.descent.step(proof)
        finally:
            remove()

    higher = Position(x_mm=0.0, y_mm=0.0, z_mm=10.0)
    bench.printer.commands.clear()
    with pytest.raises(MachineError, match="was moved meanwhile"):
        in_jumping_time(meanwhile())
    assert moves(bench) == []


def test_a_prompt_or_a_stop_between_look_and_step_forbids_it():
    bench = PlateBench()

    async def stopped() -> None:
        proof = await bench.descent.look(bench.dark)
        assert proof is not None
        bench.machine.permit.withdraw("hold was said on page")
        await bench.descent.step(proof)

    with pytest.raises(MotionForbidden, match="hold was said"):
        in_jumping_time(stopped())
    assert bench.printer.commands == []


# ------------------------------------------------------------ by lamp


def test_dark_buys_one_step_once_it_is_permitted():
    bench = PlateBench()

    async def answered() -> float:
        with bench.machine.permit.withdrawn_for(WatchLamp()):
            answer = bench.says(DARK)
        proof = bench.descent.told(answer)
        assert proof is not None
        with pytest.raises(MotionForbidden):
            await bench.descent.step(proof)
        proof = bench.descent.told(bench.says(DARK))
        assert proof is not None
        bench.machine.permit.give()
        return await bench.descent.step(proof)

    assert in_jumping_time(answered()) == 0.95
    assert len(moves(bench)) == 1


def test_the_same_answer_buys_no_second_step():
    bench = PlateBench()
    dark = bench.says(DARK)
    proof = bench.descent.told(dark)
    assert proof is not None
    in_jumping_time(bench.descent.step(proof))
    with pytest.raises(MachineError, match="nobody said anew"):
        bench.descent.told(dark)
    assert len(moves(bench)) == 1


@pytest.mark.parametrize(("choice", "prompt_id"), [(None, "1-1"), ("slack", "1-1"), (DARK, None)])
def test_what_is_neither_dark_nor_lit_or_answers_no_prompt_is_no_proof(choice, prompt_id):
    """Enter, a single button, a message: they have no choice to say, or no prompt."""
    bench = PlateBench()
    with pytest.raises(MachineError, match="nobody said anew"):
        bench.descent.told(bench.says(choice, prompt_id))
    assert bench.printer.commands == []


def test_lit_raises_the_head_at_once_without_another_permit_and_nothing_else():
    bench = PlateBench()
    with bench.machine.permit.withdrawn_for(WatchLamp()):
        lit = bench.says(LIT)
    assert bench.descent.told(lit) is None
    with pytest.raises(MotionForbidden):
        in_jumping_time(bench.machine.lower_to(0.5))
    in_jumping_time(bench.descent.up())
    assert moves(bench) == ["G1 Z10 F300"]


@pytest.mark.parametrize("hands_in", [True, False])
def test_a_stop_or_hands_after_lit_keep_the_head_where_it_is(hands_in):
    bench = PlateBench()
    bench.machine.permit.withdraw("a prompt is open")
    assert bench.descent.told(bench.says(LIT)) is None
    if hands_in:
        with bench.machine.permit.withdrawn_for(TURN):
            bench.machine.permit.allow_rising()
            with pytest.raises(MotionForbidden):
                in_jumping_time(bench.descent.up())
    bench.machine.permit.withdraw("end was said")
    with pytest.raises(MotionForbidden):
        in_jumping_time(bench.descent.up())
    assert bench.printer.commands == []


# ------------------------------------------------------------ how far down


def test_without_contact_it_stops_at_the_floor_and_says_so():
    bench = PlateBench()
    with pytest.raises(NoContactAtFloor, match=r"no contact down to z 0\.45 mm.*floor is at 0\.45"):
        in_jumping_time(bench.to_contact(bench.dark))
    assert min(bench.printer.heights_mm) == pytest.approx(0.45)
    assert bench.machine.homed


def test_a_floor_between_hundredths_is_not_crossed():
    bench = PlateBench(blades_mm=(0.3, 0.437))
    with pytest.raises(NoContactAtFloor):
        in_jumping_time(bench.to_contact(bench.dark))
    assert min(bench.printer.heights_mm) == 0.47  # the floor is at 0.463


def test_a_bed_below_the_travel_is_turned_up_by_hand_and_limits_stay():
    low = Travel(
        x=Span(from_mm=0, to_mm=220), y=Span(from_mm=0, to_mm=220), z=Span(from_mm=0, to_mm=250)
    )
    bench = PlateBench(
        PlatePrinter(-0.2), z_try_mm=0.1, blades_mm=(0.2, 0.35), machine={"travel": low}
    )
    with pytest.raises(MachineError, match=r"below z 0 mm.*nothing was sent\. Turn the bed up"):
        in_jumping_time(bench.to_contact())
    assert min(bench.printer.heights_mm) == 0.0
    assert bench.machine.homed
    assert not [command for command in bench.printer.commands if command.startswith("M211")]


def test_the_setting_below_can_not_lie_far_below():
    with pytest.raises(ValueError, match="floor_below_mm"):
        PlateBench(floor_below_mm=0.21)
    assert PlateBench(floor_below_mm=0.2).descent.floor_z_mm == pytest.approx(0.35)


def test_a_study_that_was_not_checked_makes_no_longer_steps_either():
    bench = PlateBench()
    wild = bench.tie.model_copy(update={"coarse_mm": 5.0, "fine_mm": 5.0})
    descent = bench.machine.descent(bench.bracket, wild)
    assert in_jumping_time(bench.step(descent=descent)) == 0.95
    in_jumping_time(bench.to_contact())
    assert bench.printer.heights_mm[-2:] == [0.63, 0.62]


# ------------------------------------------------------------ heat and motors


@pytest.mark.parametrize(
    ("nozzle_c", "bed_c", "said"), [(200, 0, "nozzle heating"), (0, 60, "bed heating")]
)
def test_a_heater_that_is_on_is_switched_off_and_the_head_goes_up(nozzle_c, bed_c, said):
    bench = PlateBench()
    bench.printer.nozzle_target_c, bench.printer.bed_target_c = nozzle_c, bed_c
    with pytest.raises(MachineError, match=f"{said}.*All heaters are off now"):
        in_jumping_time(bench.step())
    assert bench.printer.commands[-5:-3] == ["M104 S0", "M140 S0"]
    assert moves(bench) == ["G1 Z10 F300"]
    assert not bench.machine.homed  # it homes before it goes on


@pytest.mark.parametrize("missing", ["nozzle_target_c", "bed_target_c"])
def test_a_board_that_does_not_say_what_its_heaters_aim_at_is_not_let_down(missing):
    bench = PlateBench()
    setattr(bench.printer, missing, None)
    with pytest.raises(MachineError, match="does not say what its heaters aim at"):
        in_jumping_time(bench.step())
    assert moves(bench) == ["G1 Z10 F300"]


def test_a_machine_without_a_heated_bed_needs_no_target_of_it():
    printer = PlatePrinter()
    printer.bed_c, printer.bed_target_c = None, 0.0
    assert in_jumping_time(PlateBench(printer).step()) == 0.95


def test_a_target_damaged_on_the_way_is_asked_for_again():
    bench = PlateBench()
    reports = iter([200.0, 0.0])

    def damage(command: str) -> None:
        if command == "M105":
            bench.printer.nozzle_target_c = next(reports)

    bench.printer.before = damage
    assert in_jumping_time(bench.step()) == 0.95


def test_motors_are_never_let_go_and_nothing_waits_for_contact_under_way():
    bench = PlateBench()
    in_jumping_time(bench.to_contact())
    in_jumping_time(bench.descent.up())
    codes = {command.split(" ")[0] for command in bench.printer.commands}
    assert codes == {"M105", "G1", "M400", "M114"}


# ------------------------------------------------------------ what goes wrong


@pytest.mark.parametrize("at_command", ["M105", "G1", "M400", "M114"])
@pytest.mark.parametrize("why", ["reset", "unplugged", "halted"])
def test_after_a_lost_line_a_reset_or_a_halt_it_is_unhomed_and_goes_no_further(at_command, why):
    bench = PlateBench()

    def break_off(command: str) -> None:
        if command.startswith(at_command):
            bench.machine.halt("page") if why == "halted" else bench.printer.fail(why)

    bench.printer.before = break_off
    with pytest.raises((LinkError, MachineError)):
        in_jumping_time(bench.step())
    bench.printer.before = lambda _: None
    bench.printer.commands.clear()
    assert not bench.machine.homed
    with pytest.raises(MachineError, match="position is not known"):
        in_jumping_time(bench.step())
    assert moves(bench) == []


def test_a_descent_ends_with_its_homing():
    """Its floor came from blades at heights of the homing before."""
    bench = PlateBench()

    async def homed_anew() -> None:
        await bench.machine.home()
        await bench.machine.lower_to(1.0)
        bench.printer.commands.clear()
        await bench.step()

    with pytest.raises(MachineError, match="homed since the blades were tried"):
        in_jumping_time(homed_anew())
    assert bench.printer.commands == []


def test_giving_up_goes_up_and_homes_anew():
    bench = PlateBench()
    in_jumping_time(bench.descent.give_up())
    assert moves(bench) == ["G1 Z10 F300"]
    assert not bench.machine.homed


def test_giving_up_where_nothing_may_move_moves_nothing_and_still_homes_anew():
    bench = PlateBench()
    bench.machine.permit.withdraw("the run is on hold")
    in_jumping_time(bench.descent.give_up())
    assert bench.printer.commands == []
    assert not bench.machine.homed


def test_without_a_known_position_there_is_no_descent():
    bench = PlateBench()
    bench.machine._head.lose()
    with pytest.raises(MachineError, match="position is not known"):
        bench.machine.descent(bench.bracket, bench.tie)


def test_a_head_pushed_aside_is_found_out():
    bench = PlateBench()

    def push(command: str) -> None:
        if command == "M400":
            bench.printer.at = At(bench.printer.at.x + 0.5, bench.printer.at.y, 0.95)

    bench.printer.before = push
    with pytest.raises(MachineError, match="the head is at"):
        in_jumping_time(bench.step())
    assert not bench.machine.homed


def test_each_error_is_one_line():
    bench = PlateBench()
    bench.printer.nozzle_target_c = 200
    with pytest.raises(MachineError) as told:
        in_jumping_time(bench.step())
    assert re.fullmatch(r"machine 'bench': [^\n]+", str(told.value))
