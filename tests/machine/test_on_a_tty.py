"""Boards as they are found, each behind a real pseudo-terminal: what they say is heard."""

from pathlib import Path

import pytest
from tty_board import board_on_a_tty

from hostctl.config.machine import Probe, Span, Travel
from hostctl.errors import MachineError
from hostctl.records import Position

TOO_WIDE = Travel(
    x=Span(from_mm=0, to_mm=235), y=Span(from_mm=0, to_mm=220), z=Span(from_mm=0, to_mm=250)
)


@pytest.mark.slow
async def test_an_old_board_that_puts_no_blanks_between_axes_is_homed_and_moved(tmp_path: Path):
    async with board_on_a_tty(tmp_path, "sim://workshop-220?dialect=old") as board:
        machine = await board.homed()
        await machine.go_over(50, 60)
        assert await machine.where() == Position(x_mm=50, y_mm=60, z_mm=10)
        assert (await machine.heaters.heat()).bed_c is not None
        assert "X:50.00Y:60.00Z:10.00E:0.00 Count X: 4000Y:4800Z:4000" in board.link.wire_text()


async def test_on_a_clean_line_nothing_is_sent_twice(tmp_path: Path):
    async with board_on_a_tty(tmp_path, "sim://workshop-220?dialect=old") as board:
        machine = await board.homed()
        await machine.go_over(50, 60)
        assert board.link.resends == 0
        assert board.printer.counts.lines_refused == 0


async def test_a_travel_in_the_file_that_the_machine_has_not_got_is_what_the_error_names(
    tmp_path: Path,
):
    async with board_on_a_tty(tmp_path, "sim://workshop-220", travel=TOO_WIDE) as board:
        machine = await board.homed()
        with pytest.raises(MachineError) as wide:
            await machine.go_over(230, 60)
        assert wide.value.next_step.startswith("If x ends at 220 mm on this machine, mend 'travel'")


@pytest.mark.slow
async def test_a_failed_touch_is_no_reason_to_reset_the_board(tmp_path: Path):
    """The terse dialect marks it as it marks a halt."""
    async with board_on_a_tty(tmp_path, "sim://workshop-tri", probe=Probe(offset_y_mm=20.0)) as it:
        machine = await it.homed()
        it.printer.world.touch = lambda x_mm, y_mm: -5.0  # type: ignore[method-assign]
        with pytest.raises(
            MachineError, match="3 touches at x 100, y 100 mm gave no height: no touch"
        ) as missed:
            await machine.probe(100, 100)
        assert "eset" not in missed.value.next_step
        assert machine.connected


async def test_a_terse_board_is_known_by_its_remarks_though_it_does_not_name_itself(tmp_path: Path):
    async with board_on_a_tty(tmp_path, "sim://workshop-tri?dialect=unnamed") as board:
        machine = await board.homed()
        assert machine.homed
        assert "must" not in board.link.wire_text()
        assert "not homed" not in board.link.wire_text()


@pytest.mark.slow
async def test_a_terse_board_that_says_nothing_is_known_by_how_it_refuses(tmp_path: Path):
    """Opening its port resets nothing, so it makes no remark before the first order."""
    described = "sim://workshop-tri?dialect=unnamed"
    async with board_on_a_tty(tmp_path, described, keep_on_open=True) as board:
        await board.machine.connect()  # this switches it on
        machine = await board.homed()
        assert machine.homed
        assert "!! no move: the axes are not homed" in board.link.wire_text()
        await machine.go_over(50, 60)


async def test_where_nothing_can_decide_the_error_names_the_key_to_set(tmp_path: Path):
    described = "sim://workshop-tri?dialect=unnamed"
    async with board_on_a_tty(tmp_path, described, dialect="classic") as board:
        with pytest.raises(MachineError) as refused:
            await board.homed()
        assert "not homed (before homing, in the dialect 'classic')" in refused.value.what
        assert "set 'dialect: terse' in the machine file" in refused.value.next_step


@pytest.mark.slow
async def test_a_height_come_to_from_either_side_shows_the_play_of_the_z_screw(tmp_path: Path):
    described = "sim://workshop-220?z_play_mm=0.03&noise=0"
    async with board_on_a_tty(tmp_path, described) as board:
        machine, indicator = await board.homed(), board.printer.world.indicator
        assert indicator is not None
        await machine.go_over(85, 110)
        await machine.lower_to(5.0, slowly=True)
        shown_mm = []
        for coming_from in ("above", "below", "above", "below"):
            await machine.step_to(4.0, coming_from=coming_from, overrun_mm=0.2)
            shown_mm.append(indicator.shown_mm)
        hysteresis_mm = indicator.kind.hysteresis_mm
        for above_mm, below_mm in (shown_mm[:2], shown_mm[2:]):
            assert below_mm - above_mm == pytest.approx(0.03 + hysteresis_mm)
        assert board.printer.world.crashes == []
