"""A crowd of strangers at the page takes its places from itself, never from a phone's."""

import asyncio
import itertools
import socket
import struct
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

import pytest
from browser_client import Browser, browser_at
from page_bench import Bench, certificate_in, served

from hostctl.channels.page.access.connections import COME_AT_ONCE, IDLE_S, PAIRED, STRANGERS
from hostctl.channels.page.access.places import Places, origin
from hostctl.news import Word

SLOW = b"GET / HTTP/1.1\r\nHost: localhost\r\nX-Slow: "  # and never the end of it
AT_ONCE = struct.pack("ii", 1, 0)  # a port that lingers may be the next server's
MANY = COME_AT_ONCE - 1  # as many as one address may at once; one was used to see it up


def no_time_passes() -> float:
    return 0.0


@asynccontextmanager
async def a_paired_phone(
    clock: Callable[[], float] | None = None,
) -> AsyncIterator[tuple[Bench, Browser]]:
    async with served(listen="0.0.0.0", clock=clock) as bench, browser_at(bench.url) as browser:
        await browser.post("/pair", {"code": bench.server.pair().code})
        yield bench, await browser.enter()


class Crowd:
    """Connections of strangers, each from an address of this computer's own network."""

    def __init__(self, url: str) -> None:
        self._port = int(url.rpartition(":")[2])
        self._lines: list[socket.socket] = []

    async def come(self, address: str, many: int, saying: bytes = b"") -> list[socket.socket]:
        loop = asyncio.get_running_loop()
        came = []
        for _ in range(many):
            line = socket.socket()
            self._lines.append(line)
            line.setblocking(False)
            line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, AT_ONCE)
            line.bind((address, 0))
            await loop.sock_connect(line, ("127.0.0.1", self._port))
            await loop.sock_sendall(line, saying)
            came.append(line)
        return came

    def leave(self) -> None:
        for line in self._lines:
            line.close()


@asynccontextmanager
async def crowd_at(bench: Bench) -> AsyncIterator[Crowd]:
    crowd = Crowd(bench.url)
    try:
        yield crowd
    finally:
        crowd.leave()


async def hung_up(line: socket.socket) -> bool:
    """Wait until it says something: True where that is its end. Far sooner than an idle one's."""
    try:
        async with asyncio.timeout(IDLE_S / 3):
            return await asyncio.get_running_loop().sock_recv(line, 1) == b""
    except ConnectionError:
        return True


async def goes_on(line: socket.socket) -> bool:
    """Whether it is still there: what is asked is answered."""
    loop = asyncio.get_running_loop()
    try:
        await loop.sock_sendall(line, b"GET /pair HTTP/1.1\r\nHost: localhost\r\n\r\n")
        return (await loop.sock_recv(line, 8)).startswith(b"HTTP/1.1")
    except ConnectionError:
        return False


async def test_hold_and_stop_get_through_while_strangers_fill_the_page_with_slow_requests():
    async with a_paired_phone() as (bench, browser), crowd_at(bench) as crowd:
        held = []
        bench.station.desk.on_stop.add(held.append)
        for number in range(2, 7):  # five addresses
            await crowd.come(f"127.0.0.{number}", MANY, SLOW)
        async with browser_at(bench.url) as anew:  # the same phone, on a connection of its own
            anew.token = browser.token
            anew.headers = {"Cookie": cookie_of(browser)}
            assert await anew.post("/hold", {"machine": "sim-220"}) == (200, "")
            assert await anew.post("/halt", {"machine": "sim-220"}) == (200, "")
        assert [answer.word for answer in held] == [Word.HOLD]
        assert bench.halted == ["phone page"]


def cookie_of(browser: Browser) -> str:
    (cookie,) = browser.http.cookie_jar
    return f"{cookie.key}={cookie.value}"


@pytest.mark.slow
async def test_the_stream_of_a_paired_phone_outlasts_any_crowd():
    async with (
        a_paired_phone() as (bench, browser),
        crowd_at(bench) as crowd,
        browser.live() as events,
    ):
        assert [(await anext(events))[0] for _ in range(2)] == ["hello", "station"]
        for number in range(2, 12):
            await crowd.come(f"127.0.0.{number}", MANY)
        bench.begin()
        while (name := (await anext(events))[0]) == "pulse":
            pass  # a busy computer takes long over such a crowd
        assert name == "station"


async def test_the_oldest_of_the_address_that_holds_most_goes_first():
    async with a_paired_phone() as (bench, _), crowd_at(bench) as crowd:
        (alone,) = await crowd.come("127.0.0.9", 1)
        greedy = await crowd.come("127.0.0.2", STRANGERS - 1)
        await crowd.come("127.0.0.3", 1)
        assert await hung_up(greedy[0])
        assert await goes_on(greedy[1])
        assert await goes_on(alone)


async def test_who_comes_too_often_is_hung_up_on_but_not_where_a_paired_phone_is():
    async with a_paired_phone(no_time_passes) as (bench, _), crowd_at(bench) as crowd:
        often = await crowd.come("127.0.0.2", COME_AT_ONCE + 30)
        assert await hung_up(often[-1])
        beside_the_phone = await crowd.come("127.0.0.1", COME_AT_ONCE + 30)
        assert await goes_on(beside_the_phone[-1])


async def test_who_asks_too_often_is_hung_up_on_but_not_a_paired_phone_from_there():
    async with (
        a_paired_phone(no_time_passes) as (bench, browser),
        browser_at(bench.url) as stranger,
    ):
        replies = [await stranger.get("/pair") for _ in range(62)]
        assert [reply.status for reply in replies][-1] == 429
        assert replies[-1].headers["Connection"] == "close"
        assert (await browser.get("/")).url.path == "/"
        assert await browser.post("/halt", {"machine": "sim-220"}) == (200, "")


async def test_who_asks_too_often_stands_in_no_other_strangers_way():
    async with (
        served(listen="0.0.0.0", clock=no_time_passes) as bench,
        browser_at(bench.url) as often,
    ):
        for _ in range(61):
            await often.get("/pair")
        assert (await often.get("/pair")).status == 429
        async with browser_at(bench.url, address="127.0.0.2") as other:
            assert (await other.get("/pair")).status == 200


async def test_handshakes_that_never_end_stand_in_nobodys_way(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
):
    async with (
        served(listen="0.0.0.0", certificate=certificate_in(tmp_path)) as bench,
        crowd_at(bench) as crowd,
    ):
        silent = await crowd.come("127.0.0.2", MANY, b"\x16\x03\x01")
        await crowd.come("127.0.0.3", MANY, b"\x16\x03\x01")
        assert await hung_up(silent[0])
        async with browser_at(bench.url, trusting=False) as browser:
            code = bench.server.pair().code
            assert (await browser.post("/pair", {"code": code}))[0] == 200
            await browser.enter()
            assert (await browser.post("/halt", {"machine": "sim-220"}))[0] == 200
    assert caplog.records == []


# ------------------------------------------------------------------ places


def test_full_places_are_taken_from_the_one_who_holds_most():
    places = Places[int](4)
    holders = zip(itertools.count(), ["a", "b", "b", "c"], strict=False)
    assert [places.take(one, holder) for one, holder in holders] == [None] * 4
    assert places.take(4, "c") == 1
    assert places.take(5, "c") == 3
    places.leave(0)
    assert places.take(6, "a") is None
    assert list(places) == [2, 4, 5, 6]
    assert 2 in places
    assert 1 not in places


def test_where_nobody_has_a_place_none_is_given_up():
    assert Places[int](4).give_up() is None


def test_paired_phones_have_places_of_their_own():
    assert PAIRED >= 2 * STRANGERS


@pytest.mark.parametrize(
    ("address", "sender"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("2001:db8:1:2::9", "2001:db8:1:2::/64"),
        ("2001:db8:1:3::9", "2001:db8:1:3::/64"),
        ("fe80::1%eth0", "fe80::/64"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("", ""),
    ],
)
def test_one_sender_is_one_address_or_one_network(address: str, sender: str):
    # 2001:db8::/32 and 192.0.2.0/24 are for documentation (RFC 3849, RFC 5737).
    assert origin(address) == sender
