"""The board, spoken to in bytes: the forms of the protocol page in both dialects."""

import pytest
from hostctl_simulators.board.received_line import Command, Refusal, understand


@pytest.mark.parametrize(
    ("line", "last", "text"),
    [
        (b"N3 T0*57", 2, "T0"),  # RepRap wiki, page G-code, "Checksum"
        (b"N4 G92 E0*67", 3, "G92 E0"),  # same
        (b"M105", 9, "M105"),  # neither number nor checksum: taken as it is
        (b"N0 M110 N0*125", 41, "M110 N0"),  # sets the number, so any will do
        (b"G1 X5 ; a comment", 0, "G1 X5"),
    ],
)
def test_a_right_line_is_taken(line: bytes, last: int, text: str) -> None:
    taken = understand(line, damaged=False, last_number=last)
    assert isinstance(taken, Command)
    assert taken.text == text


@pytest.mark.parametrize(
    ("line", "last"),
    [
        (b"N3 T0*58", 2),  # wrong checksum
        (b"N3 T1*57", 2),  # damaged command
        (b"N3 T0*57", 1),  # one too far
        (b"N3 T0*57", 3),  # sent again
        (b"N3 T0", 2),  # a number and no checksum
        (b"T0*100", 2),  # a checksum (right) and no number
        (b"N3 T0*", 2),
    ],
)
def test_a_wrong_line_is_refused(line: bytes, last: int) -> None:
    assert isinstance(understand(line, damaged=False, last_number=last), Refusal)


def test_a_board_that_is_opened_boots_and_greets(console):
    assert console().banner[0] == "start"
    assert console().printer.agenda.now_s > 1


def test_what_is_sent_while_it_boots_is_lost(console):
    talk = console()
    talk.printer.disconnect()
    talk.printer.connect(lambda data: None, lambda why: None)
    talk.printer.write(b"G28\n")
    talk.printer.agenda.run_all()
    assert [done.text for done in talk.printer.board.obeyed] == ["M110 N0"]


def test_classic_asks_for_a_damaged_line_and_acknowledges_the_request(console):
    talk = console()
    assert talk.raw(b"N1 M105*1\n")[1:] == ["Resend: 1", "ok"]
    assert talk.printer.counts.lines_refused == 1
    assert talk.do("M105")[0].startswith("ok T:21.0 /0.0 B:21.0 /0.0")


def test_terse_asks_in_lower_case_and_numbers_its_ok(tri):
    talk = tri()
    assert talk.raw(b"N1 M105*1\n")[-1] == "rs N1"
    assert talk.do("M400") == ["ok N1 P15 B3"]


@pytest.mark.parametrize("dialect", ["classic", "terse"])
def test_a_line_sent_again_is_not_done_again_and_the_last_number_is_named(console, dialect):
    talk = console(f"dialect={dialect}")
    talk.do("M300")
    talk.number -= 1
    refused = talk.do("M300")
    assert refused[0].endswith("last line: 1")
    assert talk.printer.board.beeps == 1


def test_ok_to_a_move_comes_when_it_is_queued_and_m400_waits_until_it_is_over(console):
    talk = console()
    talk.home()
    talk.send("G1 X100 F600")  # ten seconds
    assert talk.wait(0.5) == ["ok"]
    talk.send("M400")
    assert talk.wait(5.0) == ["echo:busy: processing"] * 2
    assert talk.wait(6.0)[-1] == "ok"


def test_m410_stops_in_mid_move_and_the_position_is_where_it_stopped(console):
    talk = console()
    talk.home()
    talk.send("G1 X100 F600")
    talk.wait(5.0)
    assert talk.do("M410")[-1] == "ok"
    x_mm = float(talk.do("M114")[0].split()[0].removeprefix("X:"))
    assert 40 < x_mm < 60
    assert not talk.printer.board.carriage.done[-1].whole
    assert talk.printer.world.head.x_mm == pytest.approx(x_mm, abs=0.01)


def test_a_move_that_finds_the_queue_full_waits_for_room(console):
    talk = console()
    talk.home()
    for step in range(18):
        talk.send(f"G1 X{10 * step + 10} F600")
        acknowledged = talk.wait(0.02)
    assert acknowledged == []
    assert talk.wait(2.0)[-1] == "ok"


def test_homing_is_long_and_says_every_two_seconds_that_it_is_busy(console):
    talk = console()
    before_s = talk.printer.agenda.now_s
    said = talk.do("G28")
    took_s = talk.printer.agenda.now_s - before_s
    assert took_s > 10
    assert said.count("echo:busy: processing") == int(took_s / 2)
    assert said[-1] == "ok"


@pytest.mark.parametrize("halt", [b"M112\n", b"N99 M112*0\n", b"\nM112\nM112\n"])
def test_the_halt_waits_for_nothing_and_then_nothing_is_done(console, halt):
    talk = console()
    talk.send("G28")
    talk.wait(3.0)
    assert "halted" in talk.raw(halt)[0]
    assert "halted" in talk.do("M105")[0]
    talk.printer.disconnect()
    talk.plug_in()
    assert talk.heard()[0] == "start"


def test_temperatures_come_on_their_own_when_asked_to(console):
    talk = console()
    talk.do("M155 S2")
    assert [line[:2] for line in talk.wait(7.0)] == ["T:"] * 3
    talk.do("M155 S0")
    assert talk.wait(7.0) == []


def test_an_idle_board_at_the_highest_speed_reports_no_temperatures_for_ever(console):
    talk = console()
    talk.do("M155 S2")
    assert talk.rest() == []


def test_what_comes_faster_than_it_is_dealt_with_is_lost(console):
    talk = console()
    talk.do("G28")
    talk.send("G4 S20")
    for _ in range(20):
        talk.send("G4 P1")
    talk.wait(10.0)
    assert talk.printer.counts.bytes_overrun > 0
    talk.rest()
    assert talk.do("M105")[-2].startswith("Resend: ")  # it never saw the lines before


def test_bytes_take_their_time_on_the_wire(console):
    talk = console()
    before_s = talk.printer.agenda.now_s
    talk.do("M400")  # 12 bytes there, 3 back, 10 bits each
    assert talk.printer.agenda.now_s - before_s == pytest.approx(15 * 10 / 115_200, rel=0.2)


@pytest.mark.parametrize(
    ("command", "said"),
    [
        ("G1 X230", "ok"),  # cut short
        ("G30 X50 Y50", "Error:no probe is fitted"),
        ("G777", "echo:not understood: 'G777'"),
        ("M119", "end x: closed"),
        ("M117 hello", "ok"),
    ],
)
def test_what_classic_says_to(console, command, said):
    talk = console()
    talk.home()
    assert talk.do(command)[0] == said


def test_classic_cuts_a_move_short_at_the_end_of_the_travel(console):
    talk = console()
    talk.home()
    talk.do("G1 X230 F6000")
    assert talk.do("M114")[0].startswith("X:220.00 ")
    assert talk.printer.world.crashes == []


def test_terse_refuses_a_move_beyond_the_travel_and_any_before_homing(tri):
    talk = tri()
    assert talk.do("G1 X10")[0].startswith("!! ")
    talk.home()
    assert talk.do("G1 X301")[0].startswith("!! ")


def test_terse_gives_a_probe_result_of_its_own(tri):
    talk = tri()
    talk.home()
    said = talk.do("G30 X40 Y40")
    assert any(line.startswith("// probe at 40.000,40.000 is z=") for line in said)


def test_resting_motors_are_let_go_unless_told_not_to(console):
    talk = console()
    talk.home()
    talk.wait(200.0)
    assert not talk.printer.board.carriage.homed
    talk.do("M84 S0")
    talk.home()
    talk.wait(200.0)
    assert talk.printer.board.carriage.homed


def test_m109_waits_for_heat_and_a_reset_switches_it_off(console):
    talk = console()
    said = talk.do("M190 S45")
    assert sum(line.startswith("T:") for line in said) > 30
    assert talk.printer.world.bed_heater.now_c == pytest.approx(45, abs=1)
    talk.printer.disconnect()
    talk.plug_in()
    assert talk.printer.world.bed_heater.target_c == 0
    talk.wait(3600.0)
    talk.printer.world.warm()
    assert talk.printer.world.bed_heater.now_c == pytest.approx(21, abs=0.5)
