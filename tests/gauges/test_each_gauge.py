"""What holds for each kind of gauge alike, on a machine where x and y differ."""

import asyncio
from dataclasses import replace

import pytest
from bench_files import machine_file
from gauge_bench import Bench, Cable, TalkingIndicator
from jumping_loop import in_jumping_time
from small_printer import At

from hostctl.config.machine import Indicator, Point, Probe
from hostctl.config.machine import Machine as MachineFile
from hostctl.errors import ConfigError, MachineError

LOPSIDED = machine_file(
    points=[Point(name="front-right", x_mm=150, y_mm=40)],
    screws=[],
    indicator=Indicator(offset_x_mm=25, offset_y_mm=-8, reading_z_mm=6.0),
    probe=Probe(offset_x_mm=-12, offset_y_mm=20),
)
"""Where nothing is the same in x and y."""


def indicator_on_a_line(file: MachineFile | None = None, *lines: bytes) -> Bench:
    port = TalkingIndicator(*(lines or [b"+0.010\n"] * 4))
    return Bench(port, file=file, kind="serial-indicator", port="/dev/indicator")


def typed(file: MachineFile | None = None) -> Bench:
    return Bench(file=file)


def probing(file: MachineFile | None = None) -> Bench:
    bench = Bench(file=file, kind="probe")
    bench.printer.touches_mm = [0.01]
    return bench


def typing(file: MachineFile | None = None) -> Bench:
    return Bench(file=file, cable=Cable(), kind="typing-indicator", device="/dev/cable")


PLUNGERS = [typed, indicator_on_a_line, typing]
EACH = pytest.mark.parametrize("bench_of", [*PLUNGERS, probing])


@pytest.mark.parametrize(
    ("bench_of", "above_mm", "at"),
    [
        (typed, 0.0, (125.0, 48.0, 6.0)),
        (typed, 4.0, (125.0, 48.0, 10.0)),
        (indicator_on_a_line, 0.0, (125.0, 48.0, 6.0)),
        (indicator_on_a_line, 4.0, (125.0, 48.0, 10.0)),
        (typing, 0.0, (125.0, 48.0, 6.0)),
        (typing, 4.0, (125.0, 48.0, 10.0)),
        (probing, 0.0, (162.0, 20.0, 11.0)),
    ],
)
def test_each_gauge_is_brought_over_the_point_by_its_own_offsets(bench_of, above_mm, at):
    reading = bench_of(file=LOPSIDED).read(typed_mm=0.0, above_mm=above_mm)
    assert (reading.at.x_mm, reading.at.y_mm, reading.at.z_mm) == at


def test_the_probe_touches_the_point_that_it_was_brought_over():
    bench = probing(LOPSIDED)
    bench.read()
    assert [sent for sent in bench.printer.moves if sent.startswith(("G1 X", "G30"))] == [
        "G1 X162 Y20 F3000",
        "G30 X150 Y40",
    ]


@EACH
def test_each_gauge_waits_until_all_is_at_rest(bench_of):
    bench = bench_of()
    bench.read(typed_mm=0.0)
    assert "G4 P2000" in bench.printer.commands


@EACH
def test_no_gauge_is_read_beside_a_hot_nozzle(bench_of):
    bench = bench_of()
    bench.printer.nozzle_c = 70.0
    with pytest.raises(MachineError, match="nozzle is at 70 °C"):
        bench.read(typed_mm=0.0)
    assert not [sent for sent in bench.printer.commands if sent.startswith("G30")]


@EACH
def test_each_reading_says_how_warm_it_was(bench_of):
    bench = bench_of()
    bench.printer.nozzle_c, bench.printer.bed_c = 31.0, 24.0
    heat = bench.read(typed_mm=0.0).temperatures
    assert (heat.nozzle_c, heat.bed_c) == (31.0, 24.0)


@EACH
def test_no_gauge_is_read_where_the_head_was_moved_after_it_came(bench_of):
    bench = bench_of()

    def somebody_turns_the_spindle() -> None:
        bench.printer.at = replace(bench.printer.at, z=bench.printer.at.z + 0.5)

    with pytest.raises(MachineError, match="the head is at"):
        bench.read(typed_mm=0.0, before_it_is_read=somebody_turns_the_spindle)
    assert not [sent for sent in bench.printer.commands if sent.startswith("G30")]


def test_the_probe_rises_after_its_touch_as_far_as_the_study_says():
    bench = probing()

    def stays_low(command: str) -> None:
        if command.startswith("G30"):
            bench.printer.at = At(30.0, 10.0, 0.5)

    bench.printer.before = stays_low
    bench.read()
    assert bench.printer.moves[-1] == "G1 Z4.5 F300"  # probe_lift_mm is 4


@pytest.mark.parametrize("bench_of", PLUNGERS)
def test_each_indicator_comes_down_slowly_all_the_way_where_asked(bench_of):
    bench = bench_of()
    bench.read(typed_mm=0.0, slowly=True)
    down = [sent for sent in bench.printer.moves if sent.startswith("G1 Z")]
    assert down[-5:] == [f"G1 Z{z} F60" for z in (9, 8, 7, 6, 5)]


@EACH
def test_each_gauge_says_what_it_is_in_its_reading(bench_of):
    bench = bench_of()
    assert bench.read(typed_mm=0.0).source == bench.gauge.source


def test_what_each_gauge_needs_of_people_and_whether_it_can_be_watched():
    kinds = [bench_of().gauge for bench_of in (*PLUNGERS, probing)]
    assert [
        (gauge.source, gauge.typed, gauge.sends_on_press, gauge.live, gauge.own_zero)
        for gauge in kinds
    ] == [
        ("typed", True, False, False, False),
        ("serial indicator", False, False, True, False),
        ("typing indicator", False, True, True, False),
        ("probe", False, False, False, True),
    ]


@pytest.mark.parametrize("bench_of", [typed, probing])
def test_a_gauge_that_is_not_live_can_be_entered_and_tells_nothing(bench_of):
    bench = bench_of()

    async def watched() -> None:
        async with bench.gauge.watch(lambda _: pytest.fail("it told"), pytest.fail):
            await asyncio.sleep(60)

    in_jumping_time(watched())


@pytest.mark.parametrize("bench_of", [indicator_on_a_line, typing])
def test_a_number_that_comes_as_the_head_is_moved_is_none(bench_of):
    """The head is asked for once more after the number came."""
    bench = bench_of()
    asked: list[str] = []

    bench.read(
        typed_mm=0.0, before_it_is_read=lambda: setattr(bench.printer, "before", asked.append)
    )
    checks = asked.count("M114")
    bench = bench_of()
    asked.clear()

    def moves_before_the_last(command: str) -> None:
        asked.append(command)
        if command == "M114" and asked.count("M114") == checks:
            bench.printer.at = replace(bench.printer.at, z=bench.printer.at.z + 0.5)

    with pytest.raises(MachineError, match="the head is at"):
        bench.read(
            typed_mm=0.0,
            before_it_is_read=lambda: setattr(bench.printer, "before", moves_before_the_last),
        )


def test_an_indicator_unplugged_and_plugged_in_again_is_opened_again():
    port = TalkingIndicator(b"+0.010\n", b"unplugged")
    bench = Bench(port, kind="serial-indicator", port="/dev/indicator")
    with pytest.raises(MachineError, match="unplugged"):
        bench.read()
    port.lines = (b"+0.020\n",) * 4
    assert bench.read().value_mm == 0.02


def test_a_line_that_comes_in_pieces_is_one_number():
    """Its end alone would be 23 mm."""
    bench = indicator_on_a_line(None, b"+0.010\n", *(b"+0.", b"0", b"23\n") * 3, b"+0.040\n")
    assert bench.read().value_mm == 0.023


def test_an_indicator_unplugged_before_anybody_listens_is_opened_again_to_be_read():
    port = TalkingIndicator()
    bench = Bench(port, kind="serial-indicator", port="/dev/indicator")

    def unplugged_and_plugged_in_again() -> None:
        port.lost("unplugged")
        port.lines = (b"+0.020\n",) * 4

    assert bench.read(before_it_is_read=unplugged_and_plugged_in_again).value_mm == 0.02


def test_an_indicator_read_twice_is_opened_once_and_gives_what_it_says_then():
    port = TalkingIndicator(*(b"%+.3f\n" % (n // 4 / 100) for n in range(12)))
    bench = Bench(port, kind="serial-indicator", port="/dev/indicator")

    async def twice() -> list[float]:
        await bench.machine.connect()
        bench.machine.permit.give()
        await bench.machine.home()
        seen = []
        for _ in range(2):
            expected = await bench.gauge.bring(bench.point)
            seen.append((await bench.gauge.read(bench.point, expected, None)).value_mm)
        return seen

    assert in_jumping_time(twice()) == [0.0, 0.01]


def test_an_indicator_unplugged_between_two_readings_disturbs_nothing():
    port = TalkingIndicator(*[b"+0.020\n"] * 4)
    bench = Bench(port, kind="serial-indicator", port="/dev/indicator")
    assert bench.read().value_mm == 0.02
    port.lost("unplugged")  # nobody waits for a line


@pytest.mark.parametrize(
    ("port", "talking"), [("/dev/indicator", None), (None, TalkingIndicator())]
)
def test_an_indicator_on_a_line_needs_its_port_and_a_way_to_open_it(port, talking):
    with pytest.raises(ConfigError):
        Bench(talking, kind="serial-indicator", port=port)


@pytest.mark.parametrize("kind", ["typed", "serial-indicator"])
def test_a_machine_without_an_indicator_has_none_to_bring(kind):
    port = "/dev/indicator" if kind == "serial-indicator" else None
    file = machine_file(indicator=None)
    bench = Bench(TalkingIndicator(b"1\n"), file=file, kind=kind, port=port)
    with pytest.raises(ConfigError, match="no indicator"):
        bench.read(typed_mm=0.0)
    assert bench.printer.moves == []


def test_of_a_line_that_never_ends_only_so_much_is_kept():
    bench = indicator_on_a_line(None, b"9" * 5000, b"9\n0.25\n", *[b"0.125\n"] * 3)
    assert bench.read().value_mm == 0.125
