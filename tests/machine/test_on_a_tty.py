"""Boards as they are found, each behind a real pseudo-terminal: what they say is heard."""

from pathlib import Path

from tty_board import board_on_a_tty

from hostctl.records import Position


async def test_an_old_board_that_puts_no_blanks_between_axes_is_homed_and_moved(tmp_path: Path):
    async with board_on_a_tty(tmp_path, "sim://workshop-220?dialect=old") as board:
        machine = await board.homed()
        await machine.go_over(50, 60)
        assert await machine.where() == Position(x_mm=50, y_mm=60, z_mm=10)
        assert (await machine.temperatures()).bed_c is not None
        assert "X:50.00Y:60.00Z:10.00E:0.00 Count X: 4000Y:4800Z:4000" in board.link.wire_text()


async def test_on_a_clean_line_nothing_is_sent_twice(tmp_path: Path):
    async with board_on_a_tty(tmp_path, "sim://workshop-220?dialect=old") as board:
        machine = await board.homed()
        await machine.go_over(50, 60)
        assert board.link.resends == 0
        assert board.printer.counts.lines_refused == 0
