"""Three ways to one printer: in process, a real pseudo-terminal, a real TCP port; and the hands."""

import asyncio
import json
import os
import signal
import sys
from collections.abc import AsyncIterator, Callable
from functools import reduce
from operator import xor
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from hostctl_simulators import find_printer, find_world, forget_printers
from hostctl_simulators.__main__ import main
from hostctl_simulators.pace import Pacer, Speed
from hostctl_simulators.people.hands import RemoteHands, serve_hands
from hostctl_simulators.simulated_printer import SimulatedPrinter
from hostctl_simulators.ways_in.pty_cable import PtyCable
from hostctl_simulators.ways_in.tcp_cable import serve_tcp
from jumping_loop import JumpingLoop

from hostctl.errors import PortError
from hostctl.link.port import PortSettings, open_port

URL = "sim://workshop-220?seed=7"
TO_A_READING = ["M110 N0", "G28", "G90", "G1 Z12 F600", "G1 X165 Y30 F3000", "G1 Z5 F60", "M400"]


@pytest.fixture(autouse=True)
def fresh_printers() -> None:
    forget_printers()


def framed(number: int, command: str) -> bytes:
    body = f"N{number} {command}".encode()
    return body + b"*%d\n" % reduce(xor, body, 0)


class Wire:
    """Collects what a port delivers; `until` waits for some of it."""

    def __init__(self) -> None:
        self.heard = bytearray()
        self.lost: asyncio.Future[str] = asyncio.get_running_loop().create_future()
        self._came = asyncio.Event()

    def take(self, data: bytes) -> None:
        self.heard += data
        self._came.set()

    async def until(self, end: bytes) -> bytes:
        while end not in self.heard:
            self._came.clear()
            await self._came.wait()
        before, _, self.heard = self.heard.partition(end)
        return bytes(before + end)


async def in_process(url: str = URL) -> tuple[Wire, object]:
    wire = Wire()
    port = await open_port(url, PortSettings())
    port.start(wire.take, wire.lost.set_result)
    return wire, port


async def until(holds: Callable[[], bool]) -> None:
    """However long it takes."""
    while not holds():  # noqa: ASYNC110  # nothing there tells of it
        await asyncio.sleep(0.001)


@pytest.fixture
async def paced() -> AsyncIterator[tuple[SimulatedPrinter, Pacer]]:
    printer = SimulatedPrinter()
    pacer = Pacer(printer.agenda, Speed(None))
    yield printer, pacer
    pacer.stop()


class Tty:
    """The other side of a pseudo-terminal, as a program opens it."""

    def __init__(self, link: Path) -> None:
        self.wire = Wire()
        self._fd = os.open(link, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        asyncio.get_running_loop().add_reader(self._fd, self._read)

    def _read(self) -> None:
        try:
            data = os.read(self._fd, 4096)
        except OSError:
            data = b""
        if data:
            self.wire.take(data)
        else:  # hung up
            asyncio.get_running_loop().remove_reader(self._fd)
            self.wire.lost.set_result("hung up")

    def write(self, data: bytes) -> None:
        os.write(self._fd, data)

    def close(self) -> None:
        asyncio.get_running_loop().remove_reader(self._fd)
        os.close(self._fd)


async def test_the_port_is_found_by_its_scheme_and_greets_at_once():
    wire, port = await in_process()
    await wire.until(b"start\n")
    await port.close()


async def test_opened_again_it_is_the_same_world_with_the_board_rebooted():
    wire, port = await in_process()
    await wire.until(b"stored\n")
    port.write(framed(0, "M110 N0"))
    port.write(framed(1, "M117 hello"))
    await wire.until(b"ok\nok\n")
    find_world(URL).turn_screw("front-left", 90, "clockwise")
    height_mm = find_world(URL).bed.heights_mm["front-left"]
    await port.close()
    await port.close()
    wire, port = await in_process()
    await wire.until(b"start\n")
    await port.close()
    assert find_world(URL).bed.heights_mm["front-left"] == height_mm
    assert find_printer(URL).board.carriage.boot == 2


async def test_a_port_that_is_taken_is_refused_and_so_is_a_bad_url():
    _, port = await in_process()
    with pytest.raises(PortError, match="somebody else holds it"):
        await open_port(URL, PortSettings())
    await port.close()
    with pytest.raises(PortError, match="no simulated printer is called"):
        await open_port("sim://nobody", PortSettings())


async def test_a_pulled_cable_is_told_once_and_the_port_can_be_opened_again():
    url = f"{URL}&unplug_at_command=1&replug_after_s=2"
    wire, port = await in_process(url)
    await wire.until(b"stored\n")
    port.write(framed(0, "M110 N0"))
    assert await wire.lost == "the cable was pulled"
    await port.close()
    await until(lambda: find_printer(url).plugged)  # two simulated seconds, at the highest speed
    wire, port = await in_process(url)
    await wire.until(b"start\n")
    await port.close()


@pytest.mark.parametrize(("speed", "passes_s"), [("20", 1.6 / 20), ("real", 1.6), ("max", 0)])
def test_at_a_given_speed_real_time_passes(speed: str, passes_s: float):
    """The boot takes 1.6 s; a line of this length some 3 ms more."""

    async def boot() -> float:
        wire, port = await in_process(f"{URL}&speed={speed}")
        await wire.until(b"start\n")
        await port.close()
        return asyncio.get_running_loop().time()

    with asyncio.Runner(loop_factory=JumpingLoop) as runner:
        assert runner.run(boot()) == pytest.approx(passes_s, rel=0.01)


async def test_a_real_pseudo_terminal_greets_whoever_opens_it_again_and_again(paced, tmp_path):
    link = tmp_path / "printer"
    cable = PtyCable(*paced, link)
    for _ in range(2):
        tty = Tty(link)
        await tty.wire.until(b"stored\n")
        tty.write(framed(0, "M110 N0"))
        await tty.wire.until(b"ok\n")
        tty.close()
        await until(lambda: not paced[0].connected)
    cable.close()
    assert paced[0].board.carriage.boot == 2
    assert not link.is_symlink()


async def test_a_pulled_pseudo_terminal_hangs_up_and_comes_back_under_its_name(paced, tmp_path):
    printer, pacer = paced
    link = tmp_path / "printer"
    cable = PtyCable(printer, pacer, link)
    tty = Tty(link)
    await tty.wire.until(b"stored\n")
    printer.unplug()
    await tty.wire.lost
    tty.close()
    assert not link.is_symlink()
    printer.replug()
    tty = Tty(link)
    await tty.wire.until(b"start\n")
    tty.close()
    cable.close()


async def test_a_real_tcp_port_takes_one_connection_at_a_time(paced):
    server, number = await serve_tcp(*paced, "127.0.0.1", 0)
    reader, writer = await asyncio.open_connection("127.0.0.1", number)
    await reader.readuntil(b"stored\n")
    writer.write(framed(0, "M110 N0"))
    assert await reader.readline() == b"ok\n"
    second, second_writer = await asyncio.open_connection("127.0.0.1", number)
    assert await second.read() == b""
    second_writer.close()
    paced[0].unplug()
    assert await reader.read() == b""
    writer.close()
    server.close()


async def test_hands_reach_a_world_through_a_socket(paced, tmp_path):
    world = paced[0].world
    async with serve_hands(world, tmp_path / "hands"):
        hands = await asyncio.to_thread(RemoteHands, tmp_path / "hands")
        assert hands.seed == world.seed
        before_mm = world.bed.heights_mm["back-left"]
        await asyncio.to_thread(hands.turn_screw, "back-left", 360, "clockwise")
        assert world.bed.heights_mm["back-left"] == pytest.approx(before_mm + 0.7)
        assert await asyncio.to_thread(hands.gap_mm) == world.gap_mm()
        with pytest.raises(LookupError, match="middle"):
            await asyncio.to_thread(hands.turn_screw, "middle", 360, "clockwise")
    hands.close()  # the end did not wait for them


async def test_hands_at_screws_door_and_probe_reach_through_the_socket_too(paced, tmp_path):
    world = paced[0].world
    async with serve_hands(world, tmp_path / "hands"):
        hands = await asyncio.to_thread(RemoteHands, tmp_path / "hands")
        assert await asyncio.to_thread(hands.raises_bed, "back-left") == "clockwise"
        before_mm = world.bed.heights_mm["back-left"]
        await asyncio.to_thread(hands.turn_as_asked, "back-left", 180, "anticlockwise")
        assert world.bed.heights_mm["back-left"] == pytest.approx(before_mm - 0.35)
        await asyncio.to_thread(hands.move_door, True)
        assert world.door_open
        await asyncio.to_thread(hands.free_probe)
        with pytest.raises(LookupError, match="middle"):
            await asyncio.to_thread(hands.raises_bed, "middle")
    hands.close()


async def pointer_in_process(url: str) -> float:
    wire, port = await in_process(url)
    await wire.until(b"stored\n")
    for number, command in enumerate(TO_A_READING):
        port.write(framed(number, command))
        await wire.until(b"ok\n")
    await port.close()
    indicator = find_world(url).indicator
    assert indicator is not None
    return indicator.shown_mm


@pytest.mark.slow
async def test_printer_and_people_as_programs_of_their_own_give_the_same_reading(tmp_path):
    expected_mm = await pointer_in_process(URL)
    assert await pointer_in_process(f"{URL}&speed=400") == expected_mm
    link, sock = tmp_path / "printer", tmp_path / "hands"
    where = [sys.executable, "-m", "hostctl_simulators", "printer", "workshop-220", "--seed", "7"]
    program = await asyncio.create_subprocess_exec(
        *(*where, "--pty", link, "--hands", sock),
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )
    assert program.stdout is not None
    assert (await program.stdout.readline()).decode().strip() == str(link)
    tty = Tty(link)
    await tty.wire.until(b"stored\n")
    for number, command in enumerate(TO_A_READING):
        tty.write(framed(number, command))
        await tty.wire.until(b"ok\n")
    asks = (
        "import json, sys\n"
        "deed = {'do': 'read-indicator', 'hands_in': False}\n"
        "print(json.dumps({'event': 'prompt', 'prompt_id': 'a', 'deed': deed}), flush=True)\n"
        "print(sys.stdin.readline())\n"
        "sys.exit(5)\n"
    )
    people = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "hostctl_simulators", "people", "--hands", sock),
        *("--", sys.executable, "-c", asks),
        stdout=asyncio.subprocess.PIPE,
    )
    said, _ = await people.communicate()
    assert people.returncode == 5
    reading_mm = json.loads(said.splitlines()[1])["reading_mm"]
    assert reading_mm == pytest.approx(expected_mm, abs=0.005)
    tty.close()
    hands = await asyncio.to_thread(RemoteHands, sock)
    program.terminate()
    told, complaints = await program.communicate()
    hands.close()
    account = json.loads(told)
    assert (program.returncode, complaints) == (0, b"")
    assert account["crashes"] == []


@pytest.mark.slow
@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
async def test_told_to_stop_the_program_takes_its_link_away(tmp_path: Path, told: signal.Signals):
    """Left behind, it would lead to whatever pseudo-terminal has the number next."""
    link = tmp_path / "printer"
    words = ["-m", "hostctl_simulators", "printer", "workshop-220", "--pty", str(link)]
    program = await asyncio.create_subprocess_exec(
        sys.executable, *words, stdout=asyncio.subprocess.PIPE
    )
    assert program.stdout is not None
    await program.stdout.readline()
    program.send_signal(told)
    await program.communicate()
    assert program.returncode == 0
    assert not link.is_symlink()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["printer", "workshop-220"], "give --pty PATH or --tcp HOST:PORT"),
        (["printer", "workshop-220", "--tcp", ":0", "--fault", "rust=1"], "'rust' is not a key"),
        (["people", "--hands", "/nonexistent/hands", "true"], "No such file"),
    ],
)
def test_what_is_wrong_on_the_command_line_is_said_in_one_line(capsys, arguments, said):
    assert main(arguments) == 1
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1
