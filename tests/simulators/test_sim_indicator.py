"""The simulated indicator's own line and cable: by its url, over a real pseudo-terminal, a pipe."""

import asyncio
import os
import sys
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "machine"))

from bench_files import machine_file
from hostctl_simulators import find_world, forget_printers
from hostctl_simulators.pace import Pacer, Speed
from hostctl_simulators.people.hands import RemoteHands
from hostctl_simulators.people.people import People, Question
from hostctl_simulators.physical.world import World
from hostctl_simulators.readout.readout import Readout, ReadoutKind
from hostctl_simulators.readout.spoken import NO_READING, SPOKEN
from hostctl_simulators.readout.typing_cable import TypingCable
from hostctl_simulators.simulated_printer import SimulatedPrinter
from hostctl_simulators.ways_in.pty_cable import PtyCable
from jumping_loop import in_jumping_time
from small_printer import SmallPrinter

from hostctl.config.parts.gauge import Gauge, IndicatorLine, Unit
from hostctl.config.study import Cycle
from hostctl.daemon.assembly.parts import open_gauge_port
from hostctl.deeds import SendReading
from hostctl.errors import MachineError, PortError
from hostctl.gauges.gauge import GaugeParts, gauge_for
from hostctl.gauges.spoken_number import number_of
from hostctl.input_events.device import open_device
from hostctl.machine.machine import Machine
from hostctl.records import Reading

URL = "sim://workshop-220/indicator?seed=7"


@pytest.fixture(autouse=True)
def fresh_printers() -> None:
    forget_printers()


def kind_of(query: str) -> ReadoutKind:
    kind, others = ReadoutKind.parse(query)
    assert others == []
    return kind


async def heard(url: str, lines: int) -> bytes:
    """So many pieces of what it sends, by its url."""
    pieces: list[bytes] = []
    full = asyncio.Event()

    def take(data: bytes) -> None:
        pieces.append(data)
        if len(pieces) == lines:
            full.set()

    port = await open_gauge_port(url, 9600)
    port.start(take, pytest.fail)
    await full.wait()
    await port.close()
    return b"".join(pieces[:lines])


# ------------------------------------------------------------ lines


@pytest.mark.parametrize("spoken", sorted(SPOKEN))
@pytest.mark.parametrize("value_mm", [0.0, 0.012, -0.015, -9.876, 12.345])
def test_every_wording_is_understood(spoken, value_mm):
    unit = Unit.UM if spoken == "micrometre" else Unit.MM
    number = number_of(IndicatorLine(unit=unit))(SPOKEN[spoken](value_mm).strip())
    assert number == pytest.approx(value_mm, abs=0.00013)
    assert number_of(IndicatorLine())(NO_READING.strip()) is None


def test_it_is_the_indicator_of_the_printer_with_the_same_url():
    async def both() -> None:
        world = find_world("sim://workshop-220?seed=7")
        assert await heard(URL, 1) == b"+0.000\r\n"
        world.turn_bezel(0.25)
        assert await heard(URL, 1) == b"+0.250\r\n"
        assert await heard("sim://workshop-220/indicator?seed=8", 1) == b"+0.000\r\n"

    in_jumping_time(both())


def test_noise_after_a_change_dies_away_and_is_the_same_each_time():
    async def lines() -> list[float]:
        forget_printers()
        said = await heard(f"{URL}&noise_mm=0.1&halves_in=3", 60)
        return [float(line) for line in said.split()]

    values = in_jumping_time(lines())
    assert values == in_jumping_time(lines())
    assert max(map(abs, values[:5])) > 0.02
    assert max(map(abs, values[40:])) <= 0.001


def test_faults_come_as_often_as_asked():
    said = in_jumping_time(heard(f"{URL}&garbage=0.2&cut=0.2&no_reading=0.2", 1000))
    whole, none = said.count(b"+0.000\r\n"), said.count(NO_READING.encode())
    assert 300 < whole < 500  # 400 +/- 15 (binomial, one standard deviation)
    assert 140 < none < 260


def test_it_can_be_taken_once_only_and_what_is_wrong_with_its_url_is_said():
    async def taken() -> None:
        await open_gauge_port(URL, 9600)
        with pytest.raises(PortError, match="somebody else holds it"):
            await open_gauge_port(URL, 9600)
        for query, why in (
            ("spoken=latin", "an indicator speaks"),
            ("noise_mm=much", "of an indicator"),
            ("garbage=2", "between 0 and 1"),
            ("every_s=0", "must be above 0"),
            ("colour=red", "'colour' is not a key"),
        ):
            with pytest.raises(PortError, match=why):
                await open_gauge_port(f"{URL}&{query}", 9600)

    in_jumping_time(taken())


# ------------------------------------------------------------ over a real pseudo-terminal


@asynccontextmanager
async def on_a_terminal(
    path: Path, query: str = "every_s=0.005"
) -> AsyncIterator[tuple[World, Readout]]:
    printer = SimulatedPrinter()
    pacer = Pacer(printer.agenda, Speed(None))
    readout = Readout(printer.world, kind_of(query))
    cable = PtyCable(readout, pacer, path)
    try:
        yield printer.world, readout
    finally:
        cable.close()
        pacer.stop()


async def read_from(path: Path, **line: object) -> Reading:
    machine = Machine(machine_file(), SmallPrinter())
    settings = {"kind": "serial-indicator", "port": str(path), "line": line}
    parts = GaugeParts(
        settings=Gauge.model_validate(settings | {"resolution_mm": 0.001}, strict=False),
        cycle=Cycle(settle_s=1),
        where="study 's', gauge",
        machine=machine,
        now=lambda: datetime(2031, 1, 1, tzinfo=UTC),
        open_port=open_gauge_port,
    )
    gauge, point = gauge_for(parts), machine.config.points[0]
    await machine.connect()
    machine.permit.give()
    await machine.home()
    try:
        return await gauge.read(point, await gauge.bring(point), None)
    finally:
        await gauge.close()


@pytest.mark.parametrize(
    ("query", "line"),
    [
        ("", {}),
        ("&spoken=unit", {}),
        ("&spoken=channel", {"pattern": r"01A([-+]\d+\.\d+)"}),
        ("&spoken=comma&request=?", {"request": "?"}),
        ("&garbage=0.1&cut=0.1", {"within_s": 30.0}),
        ("&noise_mm=0.05&halves_in=2", {"alike": 6, "within_s": 30.0}),
    ],
)
async def test_it_is_read_over_a_real_terminal(tmp_path, query, line):
    async with on_a_terminal(tmp_path / "indicator", f"every_s=0.005{query}") as (world, _):
        world.turn_bezel(-0.123)
        reading = await read_from(tmp_path / "indicator", **line)
    assert reading.value_mm == pytest.approx(-0.123, abs=0.0011)


@pytest.mark.slow
async def test_one_that_is_silent_or_never_settles_is_an_error_and_nothing_is_read(tmp_path):
    async with on_a_terminal(tmp_path / "a", "every_s=0.005&silent_after=1"):
        with pytest.raises(MachineError, match=r"it sent nothing within 0\.2 s"):
            await read_from(tmp_path / "a", within_s=0.2)
    async with on_a_terminal(tmp_path / "b", "every_s=0.005&noise_mm=0.5&halves_in=1e9"):
        with pytest.raises(MachineError, match="not 5 numbers in a row alike"):
            await read_from(tmp_path / "b", within_s=0.5, alike=5)


@pytest.mark.slow
async def test_one_whose_cable_is_pulled_is_an_error_and_can_be_read_again(tmp_path):
    query = "every_s=0.005&unplugged_after=3&plugged_in_after_s=0.05"
    async with on_a_terminal(tmp_path / "indicator", query) as (_, readout):
        with pytest.raises(MachineError, match="the port has gone"):
            await read_from(tmp_path / "indicator", alike=20)
        while not readout.plugged:  # noqa: ASYNC110  # nothing there tells of it
            await asyncio.sleep(0.001)
        assert (await read_from(tmp_path / "indicator")).value_mm == 0.0


async def test_one_that_is_not_there_is_a_port_error(tmp_path):
    with pytest.raises(PortError, match="there is no such port"):
        await read_from(tmp_path / "nothing")


# ------------------------------------------------------------ a cable that types


async def test_people_press_and_the_cable_types_into_a_real_pipe(tmp_path):
    world = find_world("sim://workshop-220?seed=7")
    cable = TypingCable(world, tmp_path / "cable")
    world.turn_bezel(-0.25)
    codes: list[int] = []
    device = open_device(str(tmp_path / "cable"))
    device.start(lambda key: codes.append(key.code), pytest.fail)
    question = Question(prompt_id="1", deed=SendReading(), operator="")
    assert People(world).answer(question).nothing
    assert People(world).answer(question).nothing
    while len(codes) < 14:  # noqa: ASYNC110  # nothing there tells of it
        await asyncio.sleep(0)
    device.close()
    cable.close()
    assert codes == [12, 11, 52, 3, 6, 11, 28] * 2  # -0.250 Enter
    with pytest.raises(LookupError, match="no cable that types"):
        People(world).answer(Question(prompt_id="2", deed=SendReading(), operator=""))


# ------------------------------------------------------------ as a program


@pytest.mark.slow
async def test_the_program_offers_line_and_cable_beside_the_printer(tmp_path: Path):
    names = [tmp_path / name for name in ("printer", "indicator", "cable", "hands")]
    printer, indicator, cable, hands = names
    program = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "hostctl_simulators", "printer", "workshop-220"),
        *("--pty", printer, "--indicator", indicator, "--readout", "spoken=unit"),
        *("--readout", "every_s=0.005", "--cable", cable, "--hands", hands),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    assert program.stdout is not None
    told = [(await program.stdout.readline()).decode().strip() for _ in range(3)]
    assert told == [str(printer), str(indicator), str(cable)]
    at_it = await asyncio.to_thread(RemoteHands, hands)
    await asyncio.to_thread(at_it.turn_bezel, 0.125)
    assert (await read_from(indicator)).value_mm == 0.125
    pipe = os.open(cable, os.O_RDONLY | os.O_NONBLOCK)
    await asyncio.to_thread(at_it.press_send)
    assert len(os.read(pipe, 4096)) == 6 * 2 * 24  # 0.125 Enter, down and up
    os.close(pipe)
    at_it.close()
    program.terminate()
    _, complaints = await program.communicate()
    assert (program.returncode, complaints) == (0, b"")
    assert not any(path.exists() for path in (printer, indicator, cable))


@pytest.mark.slow
def test_the_program_says_what_it_does_not_know_of_an_indicator(tmp_path, capsys):
    from hostctl_simulators.__main__ import main

    words = ["printer", "workshop-220", "--pty", str(tmp_path / "p")]
    words += ["--indicator", str(tmp_path / "i"), "--readout", "colour=red"]
    assert main(words) == 1
    assert "'colour' is not a key of an indicator" in capsys.readouterr().err
