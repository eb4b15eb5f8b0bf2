"""What only a real port has: stalls, locks, permissions, odd baud rates, names."""

import asyncio
import contextlib
import os
import termios
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import serial
from peers import PtyPeer, until

from hostctl.errors import PluginError, PortError
from hostctl.link import serial_port
from hostctl.link.port import PortSettings, open_port
from hostctl.link.ports_present import ports_present
from hostctl.link.serial_port import open_serial

Play = Callable[[Callable[..., object]], None]
SETTINGS = PortSettings(baud=250_000)


def test_a_peer_that_stops_reading_does_not_freeze_the_loop(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, SETTINGS)
        port.start(lambda data: None, lambda why: None)
        peer.stop_reading()
        lines = [b"N%d M400*0\n" % number for number in range(20_000)]
        for line in lines:
            port.write(line)
        await asyncio.sleep(0)  # the loop still turns, though far more was written than was taken
        peer.read_on()
        await until(lambda: len(peer.heard) >= sum(map(len, lines)))
        assert peer.heard == b"".join(lines)
        await port.close()

    play_on_pty(scenario)


def test_a_second_opener_is_refused(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, SETTINGS)
        with pytest.raises(PortError, match="another program has it open"):
            await open_serial(peer.url, SETTINGS)
        await port.close()
        again = await open_serial(peer.url, SETTINGS)
        await again.close()

    play_on_pty(scenario)


@pytest.mark.parametrize("baud", [115_200, 250_000, 1_000_000])
def test_it_opens_at_rates_that_termios_has_no_name_for(play_on_pty: Play, baud: int) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, PortSettings(baud=baud))
        heard: list[bytes] = []
        port.start(heard.append, lambda why: None)
        port.write(b"N1 M115*0\n")
        await until(lambda: bool(heard))
        await port.close()

    play_on_pty(scenario)


@pytest.mark.parametrize("reset", [True, False])
def test_closing_does_not_lower_the_reset_line(play_on_pty: Play, reset: bool) -> None:
    async def scenario(peer: PtyPeer) -> None:
        watcher = os.open(peer.url, os.O_RDWR | os.O_NOCTTY)
        attributes = termios.tcgetattr(watcher)
        attributes[2] |= termios.HUPCL
        termios.tcsetattr(watcher, termios.TCSANOW, attributes)
        port = await open_serial(peer.url, PortSettings(baud=250_000, reset_on_open=reset))
        assert not termios.tcgetattr(watcher)[2] & termios.HUPCL
        await port.close()
        os.close(watcher)

    play_on_pty(scenario)


@pytest.mark.parametrize("reset", [True, False])
def test_the_board_is_reset_as_its_port_opens_only_where_that_is_wished(
    play_on_pty: Play, reset: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A pseudo-terminal has no reset line to look at."""
    resets: list[str | None] = []

    async def reset_line(line: serial.Serial) -> None:
        resets.append(line.port)

    monkeypatch.setattr(serial_port, "_reset", reset_line)

    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, PortSettings(baud=250_000, reset_on_open=reset))
        assert resets == ([peer.url] if reset else [])
        await port.close()

    play_on_pty(scenario)


def test_losing_the_port_is_told_once(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, SETTINGS)
        reasons: list[str] = []
        port.start(lambda data: None, reasons.append)
        peer.unplug()
        port.write(b"M112\n")
        await until(lambda: bool(reasons))
        port.write(b"M112\n")
        await asyncio.sleep(0.005)
        assert len(reasons) == 1
        await port.close()

    play_on_pty(scenario)


def test_nothing_is_told_after_closing(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_serial(peer.url, SETTINGS)
        told: list[object] = []
        port.start(told.append, told.append)
        await port.close()
        await port.close()
        peer.unplug()
        await asyncio.sleep(0.005)
        assert told == []

    play_on_pty(scenario)


def test_an_unknown_port_is_named_with_what_to_do() -> None:
    with pytest.raises(PortError, match=r"/dev/ttyNONE: there is no such port\. "):
        asyncio.run(open_serial("/dev/ttyNONE", SETTINGS))


def test_a_file_is_not_a_serial_port(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.touch()
    with pytest.raises(PortError, match="not a working serial port"):
        asyncio.run(open_serial(str(path), SETTINGS))


@contextlib.contextmanager
def without_privileges() -> Iterator[None]:
    """As somebody who may not do everything, should the tests run as root."""
    mine = os.geteuid()
    if mine == 0:
        os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(mine)


def test_a_port_that_may_not_be_opened_names_the_group_to_join(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        os.chmod(peer.url, 0)  # noqa: PTH101 - nothing blocks here
        with (
            without_privileges(),
            pytest.raises(PortError, match=r"no permission .* Join the group '\w+'"),
        ):
            await open_serial(peer.url, SETTINGS)

    play_on_pty(scenario)


def test_an_unknown_scheme_lists_those_installed() -> None:
    with pytest.raises(PluginError, match="no plug-in is called 'smi'"):
        asyncio.run(open_port("smi://printer", SETTINGS))


def test_a_baud_rate_that_makes_no_sense_is_an_error(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        with pytest.raises(PortError, match=r"baud"):
            await open_serial(peer.url, PortSettings(baud=-1))

    play_on_pty(scenario)


@pytest.mark.parametrize("url", ["socket://", "socket://host", "socket://host:port", "socket://:1"])
def test_a_socket_needs_host_and_port(url: str) -> None:
    with pytest.raises(PortError, match="host and port are not both there"):
        asyncio.run(open_port(url, SETTINGS))


def test_ports_are_found_by_the_scheme_of_their_url(play_on_pty: Play) -> None:
    async def scenario(peer: PtyPeer) -> None:
        port = await open_port(peer.url, SETTINGS)
        assert port.name == peer.url
        await port.close()

    play_on_pty(scenario)


def test_a_line_over_tcp_works_both_ways_and_its_end_is_told() -> None:
    async def scenario() -> None:
        async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            writer.write(b"heard " + await reader.readline())
            await writer.drain()
            writer.close()

        server = await asyncio.start_server(serve, "127.0.0.1", 0)
        async with server:
            number = server.sockets[0].getsockname()[1]
            port = await open_port(f"socket://127.0.0.1:{number}", SETTINGS)
            heard: list[bytes] = []
            reasons: list[str] = []
            port.start(heard.append, reasons.append)
            port.write(b"M115\n")
            await until(lambda: bool(reasons))
            assert b"".join(heard) == b"heard M115\n"
            await port.close()

    asyncio.run(scenario())


def test_a_host_that_does_not_serve_is_an_error() -> None:
    with pytest.raises(PortError, match="no connection"):
        asyncio.run(open_port("socket://127.0.0.1:1", SETTINGS))


def test_ports_present_can_be_listed_on_any_computer(tmp_path: Path) -> None:
    names = [port.name for port in ports_present(by_id=tmp_path / "absent")]
    assert names == sorted(names)
