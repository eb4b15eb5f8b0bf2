"""The page's server: answers that count once, stale ones refused, and strangers kept out."""

import asyncio
import gzip
import re
import ssl
import stat
from contextlib import AsyncExitStack, asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import aiohttp
import pytest
from aiohttp.test_utils import make_mocked_request
from browser_client import Browser, browser_at
from halted_machine import HaltedMachine
from page_bench import Bench, certificate_in, now, served

from hostctl.channels.page.access.admission import Admission
from hostctl.channels.page.server import PageServer
from hostctl.config.host import Page
from hostctl.errors import ConfigError, DaemonError, HostctlError
from hostctl.news import AnswerRefused, PromptKind, Word
from hostctl.run.station import NOT_TOLD


@asynccontextmanager
async def one_browser():
    async with served() as bench, browser_at(bench.url) as browser:
        yield bench, await browser.enter()


async def asking(bench: Bench, kind: PromptKind = PromptKind.SET, **changes: object):
    """A prompt that is open; the answer comes as a task."""
    answer = asyncio.create_task(bench.ask(kind, "Slide the paper.", **changes))
    await asyncio.sleep(0)
    prompt = bench.station.desk.open_prompt
    assert prompt is not None
    return prompt.prompt_id, answer


# ------------------------------------------------------------------ answers


async def test_done_answers_the_prompt_it_names():
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench)
        assert await browser.answer(prompt_id) == (200, "")
        assert (await answer).word is Word.DONE


@pytest.mark.parametrize(
    ("typed", "graduations", "reading_mm"),
    [
        ("0.02", False, 0.02),
        ("-0,01", False, -0.01),
        ("−0.01", False, -0.01),
        ("2", True, 0.02),
        ("-3", True, -0.03),
    ],
)
async def test_a_reading_is_taken_as_it_is_typed(typed, graduations, reading_mm):
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench, PromptKind.READ, typed_in_graduations=graduations)
        assert await browser.answer(prompt_id, "reading", typed=typed) == (200, "")
        assert (await answer).reading_mm == pytest.approx(reading_mm, abs=1e-9)


@pytest.mark.parametrize("typed", ["", "-", "1.2.3", "nan", "1e3", "two", "\uff10.\uff10\uff12"])
async def test_what_is_no_number_is_refused_and_the_prompt_stays_open(typed):
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench, PromptKind.READ)
        status, why = await browser.answer(prompt_id, "reading", typed=typed)
        assert (status, why) == (409, "it holds no number")
        assert not answer.done()
        answer.cancel()


async def test_the_same_answer_sent_again_gets_the_same_reply_and_counts_once():
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench)
        assert await browser.answer(prompt_id) == (200, "")
        await answer
        refusals: list[AnswerRefused] = []
        bench.station.desk.on_refusal.add(refusals.append)
        assert await browser.answer(prompt_id) == (200, "")
        assert refusals == []


async def test_an_answer_to_an_older_prompt_is_refused_and_the_new_one_stays_open():
    async with one_browser() as (bench, browser), browser_at(bench.url) as other:
        await other.enter()
        first, answer = await asking(bench)
        await browser.answer(first)
        await answer
        _, second = await asking(bench)
        assert await other.answer(first) == (409, "it belongs to another prompt")
        assert not second.done()
        second.cancel()


async def test_the_second_of_two_phones_is_told_that_it_was_answered():
    async with one_browser() as (bench, browser), browser_at(bench.url) as other:
        await other.enter()
        prompt_id, answer = await asking(bench)
        await browser.answer(prompt_id)
        await answer
        assert await other.answer(prompt_id) == (409, "this prompt was answered already")


@pytest.mark.parametrize(
    ("age_s", "status"), [(0, 200), (5, 200), (11, 409), (3600, 409), (-2, 200), (-60, 409)]
)
async def test_a_press_held_back_by_a_bad_line_does_not_count(age_s, status):
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench)
        pressed = (datetime.now(UTC) - timedelta(seconds=age_s)).timestamp() * 1000
        assert (await browser.answer(prompt_id, pressed_at=pressed))[0] == status
        answer.cancel()


@pytest.mark.parametrize("pressed_at", [None, "now", float("nan"), 1e300, [1]])
async def test_an_answer_says_when_it_was_pressed(pressed_at):
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench)
        assert (await browser.answer(prompt_id, pressed_at=pressed_at))[0] == 400
        answer.cancel()


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b"{",
        b"\xff\xfe",
        b"[" * 3000,
        b'{"machine":"sim-220"}',
        b'{"machine":"sim-220","word":"fire"}',
        b'{"machine":"sim-220","word":"done"}',
        b'{"machine":"sim-220","word":["done"]}',
        b'{"machine":"sim-220","word":"done","prompt_id":7}',
        b'{"machine":"sim-220","word":"reading","prompt_id":"a","typed":5}',
        b'{"machine":"another","word":"done","prompt_id":"a"}',
        b'{"machine":{},"word":"done","prompt_id":"a"}',
    ],
)
async def test_what_is_no_answer_is_refused_and_moves_nothing(body):
    async with one_browser() as (bench, browser):
        _, answer = await asking(bench)
        assert (await browser.post("/answer", body))[0] == 400
        assert not answer.done()
        answer.cancel()


@pytest.mark.parametrize(
    "body",
    [
        b'{"machine":"sim-220","word":"done","prompt_id":"\\ud800"}',
        b'{"machine":"sim-220","word":"reading","prompt_id":"a","typed":"\\udfff"}',
        b'{"machine":"sim-220","\\ud800":0}',
    ],
)
async def test_half_a_character_which_no_log_could_take_is_refused(body):
    async with one_browser() as (_, browser):
        assert (await browser.post("/answer", body))[0] == 400


async def test_a_packed_body_is_not_unpacked():
    async with one_browser() as (_, browser):
        packed = {"Content-Encoding": "gzip"}
        assert (await browser.post("/answer", b"no gzip at all", **packed))[0] == 400
        bomb = gzip.compress(b" " * 10_000_000)[:4000]
        assert (await browser.post("/answer", bomb, **packed))[0] == 400


@pytest.mark.parametrize("resume", [True, 0, -1, 10**300, 1.5, "1"])
async def test_what_is_no_runs_number_is_refused_before_the_arming_is_used(resume):
    async with one_browser() as (bench, browser):
        bench.station.arm("button")
        assert (await start(browser, resume=resume))[0] == 400
        assert bench.station.arming.armed


async def test_a_large_body_is_refused_unread():
    async with one_browser() as (_, browser):
        assert (await browser.post("/answer", b" " * 1_000_000))[0] == 413


async def test_hold_counts_without_a_prompt_and_when_the_machine_moves():
    async with one_browser() as (bench, browser):
        held = []
        bench.station.desk.on_stop.add(held.append)
        assert await browser.post("/hold", {"machine": "sim-220"}) == (200, "")
        assert [answer.word for answer in held] == [Word.HOLD]


async def test_stop_halts_at_once_and_drops_starts_that_wait():
    async with one_browser() as (bench, browser):
        assert await browser.post("/halt", {"machine": "sim-220"}) == (200, "")
        assert bench.halted == ["phone page"]


async def test_a_stop_that_could_not_reach_the_machine_is_not_told_as_taken():
    async with one_browser() as (bench, browser):
        bench.station.machine = HaltedMachine(bench.halted.append, goes_out=False)
        assert await browser.post("/halt", {"machine": "sim-220"}) == (409, NOT_TOLD)
        assert bench.halted == ["phone page"]


async def test_answers_used_up_leave_stopping_free():
    async with one_browser() as (_, browser):
        statuses = [(await browser.answer("old"))[0] for _ in range(40)]
        assert 429 in statuses
        assert (await browser.post("/halt", {"machine": "sim-220"}))[0] == 200


# ------------------------------------------------------------------ the stream


async def test_the_stream_begins_with_where_things_stand():
    async with one_browser() as (bench, browser):
        prompt_id, answer = await asking(bench)
        async with browser.live() as events:
            await anext(events)
            event, _, told = await anext(events)
            while told["view"]["prompt"] is None:
                event, _, told = await anext(events)
        view = told["view"]
        assert (event, view["prompt"]["prompt_id"]) == ("station", prompt_id)
        assert view["standing"] == "asking"
        answer.cancel()


async def test_a_phone_that_slept_gets_what_changed_and_nothing_twice():
    async with served("sim-220", "sim-tri") as bench, browser_at(bench.url) as browser:
        await browser.enter()
        async with browser.live() as events:
            seen = [await anext(events) for _ in range(3)]
        assert [event for event, _, _ in seen] == ["hello", "station", "station"]
        last_id = seen[-1][1]
        _, answer = await asking(bench)
        async with browser.live(after=last_id) as events:
            await anext(events)
            _, _, told = await anext(events)
        view = told["view"]
        assert (view["machine"], view["prompt"]["text"]) == ("sim-220", "Slide the paper.")
        answer.cancel()


@pytest.mark.parametrize("after", ["00000000-99", "nonsense", "-", "x-" + "9" * 400])
async def test_an_id_from_before_a_restart_gets_every_machine(after):
    async with one_browser() as (_, browser), browser.live(after=after) as events:
        await anext(events)
        assert (await anext(events))[0] == "station"


@pytest.mark.slow
async def test_arming_shows_on_the_page_without_news():
    async with one_browser() as (bench, browser), browser.live() as events:
        await anext(events)
        bench.station.arm("button")
        told: dict = {"view": {"armed": None}}
        while told["view"]["armed"] is None:
            _, _, told = await anext(events)
        assert told["view"]["armed"]["by"] == "button"


async def test_one_phone_too_many_is_told_so():
    async with one_browser() as (_, browser), AsyncExitStack() as open_streams:
        for _ in range(32):
            await open_streams.enter_async_context(browser.live())
        reply = await browser.get("/live")
        assert reply.status == 503


# ------------------------------------------------------------------ arming and starting


async def start(browser: Browser, **what: object) -> tuple[int, str]:
    pressed_at = now().timestamp() * 1000
    return await browser.post("/start", {"machine": "sim-220", "pressed_at": pressed_at, **what})


async def test_a_start_from_the_page_is_refused_until_it_is_armed():
    async with one_browser() as (bench, browser):
        status, why = await start(browser, study="rig-check")
        assert (status, why) == (
            409,
            "starting from afar is off until someone at the machine arms it",
        )
        assert bench.station.queued == 0


async def test_the_code_on_the_machines_screen_arms_for_one_start():
    async with one_browser() as (bench, browser):
        shown = []
        bench.station.on_show_code.add(shown.append)
        assert (await browser.post("/show-code", {"machine": "sim-220"}))[0] == 200
        wrong = "0000" if shown[0].code != "0000" else "1111"
        assert (await browser.post("/arm", {"machine": "sim-220", "code": wrong}))[0] == 409
        arm = {"machine": "sim-220", "code": shown[0].code}
        assert await browser.post("/arm", arm) == (200, "")
        assert await start(browser, study="rig-check") == (200, "")
        assert (await start(browser, study="rig-check"))[0] == 409
        request = await bench.station.next_request()
        assert (request.study, request.channel) == ("rig-check", "phone page")


async def test_the_room_code_itself_is_never_sent_to_a_browser():
    async with one_browser() as (bench, browser):
        shown = []
        bench.station.on_show_code.add(shown.append)
        await browser.post("/show-code", {"machine": "sim-220"})
        async with browser.live() as events:
            await anext(events)
            _, _, told = await anext(events)
        assert not re.search(rf"\b{shown[0].code}\b", str(told))


# ------------------------------------------------------------------ who may


async def test_on_localhost_a_browser_is_let_in_by_itself():
    async with served() as bench, browser_at(bench.url) as browser:
        assert not bench.server.needs_pairing
        cookie = (await browser.get("/")).headers["Set-Cookie"]
        assert {"HttpOnly", "SameSite=Strict"} <= set(cookie.split("; "))


async def test_beyond_localhost_a_browser_needs_a_code_that_serves_once():
    async with (
        served(listen="0.0.0.0") as bench,
        browser_at(bench.url) as browser,
        browser_at(bench.url) as other,
    ):
        assert (await browser.get("/")).url.path == "/pair"
        assert (await browser.get("/live")).status == 401
        code = bench.server.pair().code
        assert (await browser.post("/pair", {"code": f" {code[:4].lower()} {code[4:]}"}))[0] == 200
        assert (await browser.get("/")).url.path == "/"
        assert (await other.post("/pair", {"code": code}))[0] == 409


async def test_guessing_a_code_is_slowed_down():
    async with served(listen="0.0.0.0") as bench, browser_at(bench.url) as browser:
        tries = [(await browser.post("/pair", {"code": "AAAAAAAA"}))[0] for _ in range(7)]
        assert tries == [409] * 6 + [429]
        code = bench.server.pair().code
        assert (await browser.post("/pair", {"code": code}))[0] == 429
        async with browser_at(bench.url, address="127.0.0.2") as other:
            assert (await other.post("/pair", {"code": code}))[0] == 200


async def test_a_network_in_which_one_sender_has_every_address_has_the_tries_of_one():
    admission = Admission(
        Page(listen="0.0.0.0"), now=now, clock=lambda: 0.0, sessions_file=None, say=str
    )
    asked = make_mocked_request("POST", "/pair")
    senders = [f"2001:db8:1:2::{number}" for number in range(1, 8)]  # documentation (RFC 3849)
    replies = [await admission.take_code(asked.clone(remote=sender)) for sender in senders]
    assert [reply.status for reply in replies] == [409] * 6 + [429]


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://elsewhere.example"},
        {"Origin": "null"},
        {"X-Hostctl-Token": ""},
        {"X-Hostctl-Token": "0" * 32},
        {"X-Hostctl-Token": "é"},
        {"Host": "elsewhere.example"},
    ],
)
@pytest.mark.parametrize("path", ["/answer", "/start", "/arm", "/halt", "/invite"])
async def test_what_did_not_come_from_our_page_is_refused(path, headers):
    async with one_browser() as (bench, browser):
        _, answer = await asking(bench)
        status, _ = await browser.post(path, {"machine": "sim-220", "word": "done"}, **headers)
        assert status in (401, 403, 421)
        assert not answer.done()
        assert bench.halted == []
        answer.cancel()


@pytest.mark.parametrize("path", ["/answer", "/start", "/arm", "/halt", "/invite"])
async def test_a_made_up_cookie_opens_nothing(path):
    async with one_browser() as (bench, browser), browser_at(bench.url) as stranger:
        stranger.token = browser.token
        stranger.headers = {"Cookie": "hostctl_session=made-up"}
        assert (await stranger.post(path, {"machine": "sim-220", "word": "done"}))[0] == 401
        assert bench.halted == []


async def test_a_post_that_tells_no_origin_is_refused():
    async with one_browser() as (bench, browser):
        sent = {"machine": "sim-220"}
        headers = {"X-Hostctl-Token": browser.token}
        reply = await browser.http.post(f"{bench.url}/halt", json=sent, headers=headers)
        assert reply.status == 403


@pytest.mark.parametrize("path", ["/", "/pair", "/live", "/assets/app.js", "/assets/none.js"])
async def test_nothing_is_stored_and_nothing_foreign_is_loaded(path):
    async with one_browser() as (bench, browser), browser.http.get(bench.url + path) as reply:
        assert reply.headers["Cache-Control"] == "no-store"
        policy = reply.headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'; script-src 'self'; style-src 'self'")
        assert "unsafe" not in policy


@pytest.mark.parametrize("path", ["/assets/../server.py", "/assets/%2e%2e%2fserver.py", "/etc"])
async def test_nothing_but_the_pages_own_files_is_served(path):
    async with one_browser() as (_, browser):
        assert (await browser.get(path)).status == 404


@pytest.mark.parametrize(
    "sent",
    [
        b"\x16\x03\x01\x02\x00\x01\x00",  # TLS to a plain port
        b"GARBAGE\r\n\r\n",
        b"GET /" + b"a" * 9000 + b" HTTP/1.1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: [::1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nCookie: hostctl_session=\xff\xfe\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: localhost\r\nOrigin: http://[x\r\n\r\n",
        b"OPTIONS / HTTP/1.1\r\nHost: localhost\r\n\r\n",
    ],
)
async def test_a_strangers_nonsense_is_refused_in_silence_and_no_version_is_told(
    sent, caplog: pytest.LogCaptureFixture
):
    async with served(listen="0.0.0.0") as bench:
        port = int(bench.url.rpartition(":")[2])
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(sent)
        head = (await reader.readuntil(b"\r\n\r\n")).decode()
        writer.close()
    assert 300 <= int(head.split()[1]) < 500
    assert "\r\nServer: hostctl\r\n" in head
    assert "frame-ancestors 'none'" in head
    assert "aiohttp" not in head
    assert caplog.records == []


async def test_a_token_of_odd_bytes_opens_nothing():
    async with one_browser() as (bench, browser):
        (cookie,) = browser.http.cookie_jar
        head = (
            f"POST /halt HTTP/1.1\r\nHost: localhost\r\nOrigin: http://localhost\r\n"
            f"Cookie: hostctl_session={cookie.value}\r\nContent-Length: 0\r\nX-Hostctl-Token: "
        )
        port = int(bench.url.rpartition(":")[2])
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(head.encode() + b"\xff\r\n\r\n")
        assert b" 401 " in await reader.readline()
        writer.close()
        assert bench.halted == []


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
async def test_another_site_of_this_computer_gets_no_stream(site: str):
    async with one_browser() as (_, browser):
        headers = {"Sec-Fetch-Site": site}
        async with browser.http.get(f"{browser.url}/live", headers=headers) as reply:
            assert reply.status == 401


# ------------------------------------------------------------------ TLS


@pytest.fixture
def certificate(tmp_path: Path) -> tuple[Path, Path]:
    return certificate_in(tmp_path)


async def test_with_a_certificate_the_page_is_https_and_its_cookie_secure(certificate):
    async with served(certificate=certificate) as bench:
        assert bench.server.url == bench.url
        tls = ssl.create_default_context(cafile=certificate[0])
        async with browser_at(bench.url, tls) as browser:
            cookie = (await browser.get("/")).headers["Set-Cookie"]
            await browser.enter()
            assert await browser.post("/halt", {"machine": "sim-220"}) == (200, "")
    assert {"Secure", "HttpOnly", "SameSite=Strict"} <= set(cookie.split("; "))


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda crt, key: key.chmod(0o644), "others may read or change it"),
        (lambda crt, key: key.unlink(), "it can't be read"),
        (lambda crt, key: crt.write_text("no certificate"), "can't be used as the phone page's"),
    ],
)
async def test_a_certificate_that_cannot_be_used_or_a_key_that_others_read_is_said(
    certificate, spoil, why
):
    spoil(*certificate)
    crt, key = map(str, certificate)
    with pytest.raises(ConfigError, match=why):
        PageServer({}, Page(certificate_file=crt, key_file=key), now=now, machines={})


# ------------------------------------------------------------------ pairing another, restarts


async def test_a_paired_phone_invites_another():
    async with served(listen="0.0.0.0") as bench, browser_at(bench.url) as browser:
        await browser.post("/pair", {"code": bench.server.pair().code})
        await browser.enter()
        headers = {"Origin": bench.url, "X-Hostctl-Token": browser.token}
        async with browser.http.post(f"{bench.url}/invite", headers=headers) as reply:
            told = await reply.json()
        assert told["svg"].startswith("<svg")
        async with browser_at(bench.url) as other:
            assert (await other.post("/pair", {"code": told["code"]}))[0] == 200


async def test_paired_phones_outlive_the_daemon_and_their_cookies_are_not_in_the_file(
    tmp_path: Path,
):
    kept = tmp_path / "phones.json"
    async with served(listen="0.0.0.0", sessions_file=kept) as bench:
        port = int(bench.url.rpartition(":")[2])
        async with browser_at(bench.url) as browser:
            await browser.post("/pair", {"code": bench.server.pair().code})
            cookie = next(iter(browser.http.cookie_jar)).value
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    assert cookie not in kept.read_text()
    async with (
        served(listen="0.0.0.0", sessions_file=kept, port=port) as bench,
        browser_at(bench.url) as again,
    ):
        again.headers = {"Cookie": f"hostctl_session={cookie}"}
        assert (await again.get("/")).url.path == "/"
        bench.server.forget_phones()
        assert (await again.get("/")).url.path == "/pair"
    assert kept.read_text() == "{}"


async def test_phones_are_shut_out_from_the_stream_that_is_open_and_from_codes_they_asked_for():
    async with served(listen="0.0.0.0") as bench, browser_at(bench.url) as browser:
        await browser.post("/pair", {"code": bench.server.pair().code})
        code = bench.server.pair().code
        async with browser.live() as events:
            await anext(events)
            bench.server.forget_phones()
            bench.begin()  # news, so that the stream need not wait for its pulse
            told = [await anext(events, None) for _ in range(3)]
        assert told[-1] is None
        assert (await browser.post("/pair", {"code": code}))[0] == 409


async def test_phones_that_a_full_disk_keeps_on_record_are_told_of(tmp_path: Path):
    kept = tmp_path / "gone" / "phones.json"
    async with served(listen="0.0.0.0", sessions_file=kept) as bench:
        with pytest.raises(DaemonError, match="shut out only until a restart"):
            bench.server.forget_phones()


# ------------------------------------------------------------------ coming and going


async def test_where_no_phone_can_come_no_code_is_made():
    async with served() as bench:
        with pytest.raises(DaemonError, match="open to this computer alone"):
            bench.server.pair()


async def test_a_port_that_is_taken_is_one_clear_line():
    async with served() as bench:
        port = int(bench.url.rpartition(":")[2])
        second = PageServer({}, Page(port=port), now=now, machines={})
        with pytest.raises(HostctlError, match=r"phone page at .*can't listen there"):
            await second.serve()


async def test_the_server_ends_while_phones_watch():
    async with browser_at("") as browser:
        async with served() as bench:
            browser.url = bench.url
            await browser.enter()
            reply = await browser.http.get(f"{bench.url}/live")
        with pytest.raises(aiohttp.ClientError):
            await browser.get("/")
        reply.close()
