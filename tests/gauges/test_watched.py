"""Gauges that are watched while nothing moves: values as they come, troubles told, back again."""

import asyncio
import errno
import itertools
from collections.abc import Callable

import pytest
from gauge_bench import Bench, Cable, TalkingIndicator
from jumping_loop import in_jumping_time

from hostctl.errors import ConfigError, PortError
from hostctl.gauges.indicator_port import ASK_AGAIN_S
from hostctl.input_events.device import InputDevice

ENTER, KEYPAD_ENTER, DOT, MINUS, ONE, TWO, ZERO, A = 28, 96, 52, 12, 2, 3, 11, 30


class Told:
    """What a watched gauge told."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self.troubles: list[str] = []


def on_a_line(port: TalkingIndicator, **line: object) -> Bench:
    return Bench(port, kind="serial-indicator", port="/dev/indicator", line=line)


def watched(bench: Bench, meanwhile: Callable[[], None] = lambda: None, for_s: float = 5.0) -> Told:
    told = Told()

    async def look() -> None:
        async with bench.gauge.watch(told.values.append, told.troubles.append):
            meanwhile()
            await asyncio.sleep(for_s)
        await bench.gauge.close()

    in_jumping_time(look())
    return told


# ------------------------------------------------------------ on a line


def test_an_indicator_on_a_line_tells_each_number_as_it_comes():
    port = TalkingIndicator(b"+0.010\n", b"+0.0", b"20\n", b"0.03 mm\n")
    assert watched(on_a_line(port)).values == [0.01, 0.02, 0.03]
    assert port.closed


def test_a_line_without_a_number_is_told_once_until_one_has():
    port = TalkingIndicator(b"----\n", b"----\n", b"1\n", b"ERR\n")
    told = watched(on_a_line(port))
    assert told.values == [1.0]
    assert told.troubles == [
        "indicator on /dev/indicator: no number in '----'",
        "indicator on /dev/indicator: no number in 'ERR'",
    ]


def test_one_that_is_unplugged_while_it_is_watched_is_heard_again():
    port = TalkingIndicator(b"1\n", b"unplugged", b"2\n", b"3\n")
    refusals = itertools.count()

    async def opens_late(url: str, baud: int) -> TalkingIndicator:
        if 0 < next(refusals) < 3:
            raise PortError(url, "there is no such port", "Plug it in.")
        port.lines = port.lines if port.asked or next(refusals) < 3 else (b"9\n",)
        return port

    port.open = opens_late  # type: ignore[method-assign]
    told = watched(on_a_line(port))
    assert told.values[:1] == [1.0]
    assert told.values[-1] == 9.0
    assert told.troubles == ["indicator on /dev/indicator: unplugged"]


def test_one_that_cant_be_opened_can_t_be_watched():
    port = TalkingIndicator()

    async def missing(url: str, baud: int) -> TalkingIndicator:
        raise PortError(url, "there is no such port", "Plug it in.")

    port.open = missing  # type: ignore[method-assign]
    with pytest.raises(PortError):
        watched(on_a_line(port))


class AskedIndicator(TalkingIndicator):
    """Says a line at each request, but for some."""

    deaf_to: tuple[int, ...] = ()

    def start(self, on_bytes: Callable[[bytes], None], on_lost: Callable[[str], None]) -> None:
        self.on_bytes = on_bytes

    def write(self, data: bytes) -> None:
        super().write(data)
        number = len(self.asked)
        if number not in self.deaf_to:
            line = b"%.2f\r" % (number / 100)
            asyncio.get_running_loop().call_later(0.1, self.on_bytes, line)


def test_one_that_waits_for_a_request_is_asked_after_each_answer():
    port = AskedIndicator()
    told = watched(on_a_line(port, request="?\r"), for_s=0.69)
    assert set(port.asked) == {b"?\r"}
    assert told.values == [0.01, 0.02, 0.03, 0.04]


def test_a_request_that_brought_nothing_is_sent_again():
    port = AskedIndicator()
    port.deaf_to = (2, 3)
    told = watched(on_a_line(port, request="?"), for_s=2 * ASK_AGAIN_S + 0.3)
    assert told.values == [0.01, 0.04]


def test_nobody_is_asked_once_nobody_listens():
    port = AskedIndicator()
    bench = on_a_line(port, request="?")
    told = Told()

    async def look() -> None:
        async with bench.gauge.watch(told.values.append):
            await asyncio.sleep(0.2)
        asked = len(port.asked)
        await asyncio.sleep(60)
        assert len(port.asked) == asked

    in_jumping_time(look())


def test_one_that_is_asked_settles_too():
    port = AskedIndicator()
    bench = on_a_line(port, request="?", alike_to_mm=0.02)
    assert bench.read().value_mm == 0.04  # the first answer may be to an older request
    assert len(port.asked) == 4


# ------------------------------------------------------------ one that types


def cable_bench(cable: Cable, **gauge: object) -> Bench:
    return Bench(cable=cable, kind="typing-indicator", device="/dev/cable", **gauge)


def test_an_indicator_that_types_tells_each_number_that_is_sent():
    cable = Cable()

    def presses() -> None:
        cable.type(MINUS, ZERO, DOT, ONE, ENTER, ONE, TWO, ENTER)

    assert watched(cable_bench(cable), presses).values == [-0.1, 12.0]


@pytest.mark.parametrize(("unit", "value_mm"), [("mm", 12.0), ("um", 0.012), ("in", 304.8)])
def test_what_it_counts_in(unit, value_mm):
    cable = Cable()
    told = watched(cable_bench(cable, line={"unit": unit}), lambda: cable.type(ONE, TWO, ENTER))
    assert told.values == [pytest.approx(value_mm)]


def test_its_enter_alone_is_nothing_and_a_stray_key_is_told():
    cable = Cable()
    told = watched(cable_bench(cable), lambda: cable.type(ENTER, KEYPAD_ENTER, ONE, A, ENTER))
    assert told.values == []
    assert told.troubles == [
        "indicator on /dev/cable: it typed a key that belongs to no number (code 30); "
        "press its button again"
    ]


def test_a_number_that_had_begun_before_it_was_watched_is_none():
    cable = Cable()
    bench = cable_bench(cable)
    told = Told()

    async def look() -> None:
        await bench.machine.connect()
        bench.machine.permit.give()
        await bench.machine.home()
        await bench.gauge.bring(bench.point)
        cable.type(ONE, ENTER, TWO)  # nobody is listening, then
        async with bench.gauge.watch(told.values.append, told.troubles.append):
            cable.type(ZERO, ENTER, ONE, ENTER)

    in_jumping_time(look())
    assert told.values == [1.0]
    assert cable.opened == 1


def test_a_cable_that_is_pulled_is_looked_for():
    cable = Cable()

    def pulled_and_back() -> None:
        loop = asyncio.get_running_loop()
        cable.type(ONE)
        cable.pull()
        loop.call_later(2.0, setattr, cable, "there", True)
        loop.call_later(4.0, cable.type, TWO, ENTER)

    told = watched(cable_bench(cable), pulled_and_back)
    assert told.values == [2.0]
    assert told.troubles == ["indicator on /dev/cable: No such device; plug it in again"]


def test_a_cable_that_is_not_there_is_a_port_error():
    cable = Cable()
    cable.there = False
    with pytest.raises(PortError, match="there is no such device"):
        watched(cable_bench(cable))


def test_a_typing_indicator_needs_its_device_and_what_came():
    with pytest.raises(ConfigError, match="gauge: its device is missing"):
        Bench(kind="typing-indicator")
    with pytest.raises(ValueError, match="what came by the press"):
        cable_bench(Cable()).read()


@pytest.mark.parametrize(
    ("device", "why"),
    [("/dev/null", "it is no input device"), ("/dev/no-such-cable", "there is no such device")],
)
def test_what_the_kernel_says_of_a_device_that_is_none(device, why):
    with pytest.raises(PortError, match=why):
        watched(Bench(kind="typing-indicator", device=device))


def test_a_cable_that_another_program_holds_is_said_to_be():
    cable = Cable()

    def held(path: str) -> InputDevice:
        raise OSError(errno.EBUSY, "Device or resource busy")

    cable.open = held  # type: ignore[method-assign]
    with pytest.raises(PortError, match="it is held already"):
        watched(cable_bench(cable))
