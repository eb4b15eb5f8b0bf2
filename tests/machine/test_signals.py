"""Outputs, door and probe of a simulated board, behind a real pseudo-terminal."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from tty_board import TtyBoard, board_on_a_tty

from hostctl.config.machine import Probe
from hostctl.config.parts.outputs import Door, InputReads, Output
from hostctl.errors import LinkError, MachineError
from hostctl.machine.permit import MotionForbidden
from hostctl.machine.signals.signals import DoorOpen, NotProven, ProbeNotFree

OUT = Output(
    name="probe-out",
    order="M280 P0 S10",
    proven_by=InputReads(input="Probe-Out", reads="TRIGGERED"),
)
IN = Output(
    name="probe-in", order="M280 P0 S90", proven_by=InputReads(input="probe-out", reads="open")
)
LAMP = Output(name="lamp", order="M42 P4 S255")
PROBE = Probe(offset_y_mm=20.0, free_when=InputReads(input="probe", reads="open"))
DOOR = Door(input="door", shut="triggered")


@asynccontextmanager
async def tri(folder: Path, query: str = "", **changes: object) -> AsyncIterator[TtyBoard]:
    """A board with probe, arm and door, homed."""
    given: dict[str, object] = {"probe": PROBE, "outputs": [OUT, IN, LAMP], "door": DOOR}
    async with board_on_a_tty(folder, f"sim://workshop-tri?{query}", **(given | changes)) as board:
        await board.homed()
        yield board


def at_touch(board: TtyBoard) -> int:
    return board.printer.world.probe.touches


async def test_an_output_is_switched_with_the_head_up_and_proven(tmp_path: Path):
    async with tri(tmp_path) as board:
        await board.machine.lower_to(5.0)
        await board.machine.switch("probe-in")
        assert not board.printer.world.probe.out
        assert (await board.machine.where()).z_mm >= board.machine.config.clear_z_mm
        await board.machine.switch("probe-out")
        await board.machine.signals.prove("probe-out")
        with pytest.raises(NotProven):
            await board.machine.signals.prove("probe-in")


async def test_before_homing_an_output_is_switched_where_the_head_stands(tmp_path: Path):
    """A probe that homing needs comes out by it."""
    described = "sim://workshop-tri"
    async with board_on_a_tty(tmp_path, described, probe=PROBE, outputs=[OUT, IN]) as board:
        await board.machine.connect()
        board.machine.permit.give()
        stood = board.printer.world.head
        await board.machine.switch("probe-in")
        assert not board.printer.world.probe.out
        assert board.printer.world.head == stood


async def test_an_output_without_proof_is_sent_just_so(tmp_path: Path):
    async with tri(tmp_path) as board:
        await board.machine.switch("lamp")
        assert board.printer.board.outputs == {"pin 4": 255}


async def test_an_output_that_the_file_has_not_is_refused(tmp_path: Path):
    async with tri(tmp_path) as board:
        with pytest.raises(MachineError, match=r"no output 'lid'. Those of its file: probe-out, "):
            await board.machine.switch("lid")


async def test_without_a_permit_nothing_is_switched(tmp_path: Path):
    async with tri(tmp_path) as board:
        board.machine.permit.withdraw("a prompt is open")
        with pytest.raises(MotionForbidden):
            await board.machine.switch("lamp")
        assert board.printer.board.outputs == {}


async def test_a_probe_that_does_not_come_out_is_named_and_the_head_stays_up(tmp_path: Path):
    async with tri(tmp_path, "probe_stays_in_at_order=2") as board:
        await board.machine.switch("probe-in")
        with pytest.raises(NotProven) as not_out:
            await board.machine.switch("probe-out")
        assert str(not_out.value) == (
            "machine 'bench': output 'probe-out' (M280 P0 S10) is not proven to be done: input "
            "'probe-out' says 'open', not 'triggered'. See that what it moves comes all the way, "
            "and look at its plug. The head stays where it is."
        )
        assert board.machine.homed
        assert (await board.machine.where()).z_mm >= board.machine.config.clear_z_mm
        board.printer.world.free_probe()
        await board.machine.switch("probe-out")


async def test_what_was_switched_is_proven_before_each_touch(tmp_path: Path):
    """It went in by itself meanwhile: no touch begins."""
    async with tri(tmp_path) as board:
        await board.machine.switch("probe-out")
        await board.machine.probe(100, 100, proven="probe-out")
        board.printer.world.probe.out = False
        touched = at_touch(board)
        with pytest.raises(NotProven):
            await board.machine.probe(100, 100, proven="probe-out")
        assert at_touch(board) == touched
        assert board.machine.homed


async def test_one_touch_costs_one_look_at_the_inputs(tmp_path: Path):
    async with tri(tmp_path) as board:
        await board.machine.probe(100, 100, proven="probe-out")
        before = len(board.printer.board.obeyed)
        await board.machine.probe(100, 100, proven="probe-out")
        sent = [done.text for done in board.printer.board.obeyed[before:]]
        assert sent.count("M119") == 1


async def test_an_input_that_is_not_reported_names_the_key(tmp_path: Path):
    lid = Door(input="lid")
    async with board_on_a_tty(tmp_path, "sim://workshop-tri", door=lid) as board:
        with pytest.raises(MachineError, match=r"no input 'lid', of these: .*Mend 'door.input'"):
            await board.homed()


async def test_an_open_door_lets_nothing_move_and_costs_no_position(tmp_path: Path):
    async with tri(tmp_path) as board:
        board.printer.world.move_door(is_open=True)
        moves = len(board.printer.board.carriage.done)
        for deed in (
            board.machine.home,
            lambda: board.machine.go_over(50, 50),
            lambda: board.machine.lower_to(5.0),
            lambda: board.machine.probe(100, 100),
            lambda: board.machine.switch("probe-in"),
        ):
            with pytest.raises(DoorOpen, match=r"the door is open.* Shut it, with hands and tools"):
                await deed()
        assert len(board.printer.board.carriage.done) == moves
        assert board.machine.homed
        board.printer.world.move_door(is_open=False)
        await board.machine.go_over(50, 50)


async def test_a_door_opened_on_the_way_down_to_a_touch_is_seen_before_the_next(tmp_path: Path):
    async with tri(tmp_path) as board:
        await board.machine.probe(100, 100)
        board.printer.world.move_door(is_open=True)
        with pytest.raises(DoorOpen):
            await board.machine.probe(100, 100)


async def test_a_stuck_probe_is_never_driven_down(tmp_path: Path):
    async with tri(tmp_path, "probe_stuck_at_touch=3") as board:
        await board.machine.probe(100, 100)  # homing was the first touch
        touched = at_touch(board)
        with pytest.raises(ProbeNotFree, match=r"triggered though it touches nothing"):
            await board.machine.probe(100, 100)
        assert (at_touch(board), board.machine.homed) == (touched, True)
        board.printer.world.free_probe()
        await board.machine.probe(100, 100)


async def test_a_stuck_probe_that_no_input_tells_of_is_told_by_its_touches(tmp_path: Path):
    bare = Probe(offset_y_mm=20.0)
    async with tri(tmp_path, "probe_stuck_at_touch=2", probe=bare) as board:
        with pytest.raises(MachineError, match=r"3 touches .* gave no height: .* before it moved"):
            await board.machine.probe(100, 100)
        assert board.machine.homed


async def test_a_probe_that_does_not_trigger_gives_no_height_and_the_head_is_up(tmp_path: Path):
    async with tri(tmp_path, "probe_blind_at_touch=2") as board:
        with pytest.raises(MachineError, match=r"3 touches .* gave no height: .*did not trigger"):
            await board.machine.probe(100, 100)
        assert board.machine.homed
        assert (await board.machine.where()).z_mm >= board.machine.config.clear_z_mm
        assert board.printer.world.crashes == []


@pytest.mark.slow
async def test_a_power_cut_costs_line_and_position_and_nothing_goes_on(tmp_path: Path):
    async with tri(tmp_path) as probe_count:
        commands = len(probe_count.printer.board.obeyed)
    query = f"power_cut_at_command={commands + 3}&power_back_after_s=1"
    async with tri(tmp_path, query) as board:
        await board.machine.message("still there")
        with pytest.raises(LinkError):
            await board.machine.go_over(50, 60)
        assert not board.machine.homed
        assert not board.printer.board.on
        assert board.printer.counts.power_cuts == 1


async def test_a_door_may_be_opened_at_a_command_and_shut_again(tmp_path: Path):
    async with tri(tmp_path) as quiet:
        commands = len(quiet.printer.board.obeyed)
    async with tri(tmp_path, f"door_opened_at_command={commands + 1}") as board:
        await board.machine.message("still shut")
        with pytest.raises(DoorOpen):
            await board.machine.go_over(50, 60)
        assert board.printer.world.door_open
