"""Gauges: each brings itself to the place, and gives one reading with its context."""

import pytest
from gauge_bench import NOW, Bench, TalkingIndicator
from small_printer import At

from hostctl.errors import ConfigError, MachineError, PluginError
from hostctl.gauges.spoken_number import number_in
from hostctl.records import Position


def test_a_typed_reading_is_what_was_typed_with_where_and_how_warm_it_was():
    reading = Bench().read(typed_mm=-0.02)
    assert (reading.value_mm, reading.resolution_mm, reading.source) == (-0.02, 0.01, "typed")
    assert reading.at == Position(x_mm=5.0, y_mm=30.0, z_mm=5.0)
    assert reading.temperatures.bed_c == 21.0
    assert reading.taken_at == NOW


def test_the_plunger_comes_from_above_slowly_then_settles_then_the_place_is_checked():
    bench = Bench()
    bench.read(typed_mm=0.0)
    told = [command for command in bench.printer.commands if command not in ("M400", "M114")]
    assert told == ["G1 X5 Y30 F3000", "G1 Z7 F300", "G1 Z6 F60", "G1 Z5 F60", "G4 P2000", "M105"]


def test_on_a_gauge_block_it_stays_higher_by_the_block():
    bench = Bench()
    assert bench.read(typed_mm=0.0, above_mm=4.0).at.z_mm == 9.0


def test_no_reading_is_taken_where_the_head_should_not_be():
    bench = Bench()
    bench.printer.before = lambda command: (
        setattr(bench.printer, "at", At(5.0, 30.0, 5.1)) if command == "G4 P2000" else None
    )
    with pytest.raises(MachineError, match="the head is at"):
        bench.read(typed_mm=0.0)


def test_no_reading_is_taken_beside_a_hot_nozzle():
    bench = Bench()
    bench.printer.nozzle_c = 70.0
    with pytest.raises(MachineError, match="nozzle is at 70 °C"):
        bench.read(typed_mm=0.0)


def test_a_typed_gauge_needs_what_was_typed():
    with pytest.raises(ValueError, match="what was typed"):
        Bench().read()


def test_the_probes_reading_is_the_height_of_its_touch_in_its_own_resolution():
    bench = Bench(kind="probe")
    bench.printer.touches_mm = [0.0125]
    reading = bench.read()
    assert (reading.value_mm, reading.resolution_mm, reading.source) == (0.0125, 0.0025, "probe")
    assert reading.at == Position(x_mm=30.0, y_mm=10.0, z_mm=10.0)  # the probe is 20 mm behind
    assert bench.gauge.own_zero


def test_a_serial_indicator_gives_the_number_it_settles_at_after_it_came_to_rest():
    port = TalkingIndicator(b"+0.0", b"10 mm\r\n", *[b"+0.018 mm\r\n"] * 2, *[b"+0.020 mm\r\n"] * 3)
    bench = Bench(port, kind="serial-indicator", port="/dev/indicator", resolution_mm=0.001)
    reading = bench.read()
    assert (reading.value_mm, reading.source) == (0.02, "serial indicator")
    assert port.closed


@pytest.mark.parametrize(
    ("lines", "why"),
    [
        ([], "it sent nothing within 5 s.*set to send by itself"),
        ([b"hello\n"] * 9, "no number in what it sent within 5 s: 'hello'"),
        ([b"0.01\n", b"0.05\n"] * 4, "not 3 numbers in a row alike within 5 s.*'0.01', '0.05'"),
        ([b"unplugged"], "unplugged"),
    ],
)
def test_a_serial_indicator_that_says_nothing_useful_is_an_error(lines, why):
    bench = Bench(TalkingIndicator(*lines), kind="serial-indicator", port="/dev/indicator")
    with pytest.raises(MachineError, match=why):
        bench.read()


def test_a_serial_indicator_without_a_port_is_refused():
    with pytest.raises(ConfigError, match="gauge: its port is missing"):
        Bench(kind="serial-indicator")


def test_an_unknown_gauge_is_an_error_that_lists_those_there_are():
    with pytest.raises(
        PluginError, match="Installed: probe, serial-indicator, typed, typing-indicator"
    ):
        Bench(kind="eyes")


# An inch is 25.4 mm exactly (ISO 80000-3, from memory).
@pytest.mark.parametrize(
    ("line", "value_mm"),
    [
        ("0.02", 0.02),
        ("+0.020 mm", 0.02),
        ("-0,015mm", -0.015),
        ("- 1.234", -1.234),
        (".5", 0.5),
        ("1.0000 in", 25.4),
        ("0.001 inch", 0.0254),
        ('0.5"', 12.7),
        ("01A+0.010 mm", 0.01),
        ("01A-0.010 mm", -0.01),
        ("ch1: 0.1 ch: 0.25 mm", 0.25),
        ("hello", None),
        ("", None),
        ("1.2.3", None),
        ("\uff10.\uff10\uff12 mm", None),  # fullwidth digits
        ("\uff15.05 mm", None),
        ("--", None),
        ("+ 1.5 um", 0.0015),
        ("-12 µm", -0.012),
        ("01A+00.012", 0.012),
        ("ERR", None),
        ("ERR 12", None),
        ("----", None),
        ("Overflow 9.999", None),
        ("low battery 0.01", None),
        ("0.0+0.010", 0.01),
        ("1,234.5", None),
    ],
)
def test_the_number_is_found_in_whatever_stands_around_it(line, value_mm):
    assert number_in(line) == (value_mm if value_mm is None else pytest.approx(value_mm))
