"""The link keeps its promises on the in-memory port and on a real pseudo-terminal."""

import asyncio
from collections.abc import Callable
from contextlib import suppress

import pytest
from peers import BRISK, Peer, until

from hostctl.errors import LinkError, PortError, ThermalFault
from hostctl.link.link import Link, News
from hostctl.link.port import PortSettings
from hostctl.link.reply import Greeting
from hostctl.protocol.events import (
    Banner,
    HostAsked,
    Info,
    PositionReported,
    ProbeResult,
    TemperatureReported,
)
from hostctl.protocol.noise import NoiseLimit
from hostctl.protocol.numbering import HALT
from hostctl.protocol.states import Cause, Fault

Play = Callable[[Callable[..., object]], None]
SOON_S = 60.0
"""By then any computer has answered; in memory it costs nothing to let it pass."""


def on_command(word: bytes, lines: list[str], peer: Peer) -> None:
    """Answer the next lines that contain `word` with `lines` instead, once."""
    usual = peer.reply

    def reply(given: list[str]) -> list[str]:
        if word not in peer.heard.strip(b"\n").split(b"\n")[-1]:
            return usual(given)
        peer.reply = usual
        return lines

    peer.reply = reply


def test_it_greets_the_controller_and_learns_what_it_can(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            greeting = await link.connect()
            assert greeting.firmware == "FIRMWARE_NAME:model"
            assert greeting.capabilities == {"EMERGENCY_PARSER": True}
            assert peer.heard.startswith(b"N0 M110 N0*125\nN1 M115*")

    play(scenario)


def test_a_command_is_answered_with_what_was_said_until_its_ok(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            reply = await link.do("M114", deadline_s=SOON_S)
            assert reply.position == PositionReported(x_mm=1, y_mm=2, z_mm=3)
            assert (reply.command, reply.line) == ("M114", 2)
            assert reply.probe is reply.temperature is None

    play(scenario)


def test_orders_of_several_callers_are_done_in_turn(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            async with asyncio.TaskGroup() as group:
                for number in range(20):
                    group.create_task(link.do(f"G0 X{number}", deadline_s=SOON_S))
            assert peer.controller.executed[1:] == [f"G0 X{number}" for number in range(20)]
            assert link.lines_sent == 22

    play(scenario)


@pytest.mark.parametrize(
    "pieces",
    [lambda data: [data[i : i + 1] for i in range(len(data))], lambda data: [data[:1], data[1:]]],
    ids=["byte by byte", "two parts"],
)
def test_lines_that_arrive_in_pieces_are_put_together(
    play: Play, pieces: Callable[[bytes], list[bytes]]
) -> None:
    async def scenario(peer: Peer) -> None:
        peer.pieces = pieces
        async with peer.link().running() as link:
            await link.connect()
            assert (await link.do("M114", deadline_s=SOON_S)).position is not None

    play(scenario)


def test_junk_between_the_lines_is_kept_and_harms_nothing(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: [part for line in lines for part in ("\xff\x00\x7f]]", line)]
        async with peer.link().running() as link:
            await link.connect()
            reply = await link.do("M114", deadline_s=SOON_S)
            assert reply.position is not None
            assert "]]" in reply.texts[0]

    play(scenario)


def test_a_damaged_line_is_sent_again_and_done_once(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            damages = iter([lambda data: data.replace(b"X1", b"X9")])
            peer.garble = lambda data: next(damages, bytes)(data)
            await link.do("G0 X1", deadline_s=SOON_S)
            assert peer.controller.executed == ["M115", "G0 X1"]
            assert link.resends == 1

    play(scenario)


def test_a_lost_ok_is_found_out_by_sending_the_same_line_again(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            on_command(b"G0 X1", ["oj"], peer)
            await link.do("G0 X1", deadline_s=SOON_S)
            assert peer.controller.executed[1:] == ["G0 X1"]
            assert peer.heard.count(b"N2 G0 X1*") == 2
            assert link.resends == 1

    play_in_memory(scenario)


def test_a_machine_that_says_nothing_twice_is_lost_and_every_waiter_is_told(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        news: list[News] = []
        faults: list[LinkError] = []
        async with peer.link().running() as link:
            link.on_news.add(news.append)
            await link.connect()
            link.on_fault.add(faults.append)
            peer.reply = lambda lines: []
            answers = await asyncio.gather(
                link.do("G0 X1", deadline_s=0.05),
                link.do("M400", deadline_s=0.05),
                return_exceptions=True,
            )
            assert [type(answer) for answer in answers] == [LinkError, LinkError]
            assert "G0 X1" in str(answers[0])
            assert [n.cause for n in news if isinstance(n, Fault)] == [Cause.SILENT]
            assert len(faults) == 1
            with pytest.raises(LinkError, match="not answered"):
                await link.do("M114", deadline_s=SOON_S)

    play_in_memory(scenario)


def test_a_reset_fails_the_waiter_at_once(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        news: list[News] = []
        async with peer.link().running() as link:
            link.on_news.add(news.append)
            await link.connect()
            on_command(b"G0", peer.controller.reset(), peer)
            with pytest.raises(LinkError, match="restarted"):
                await link.do("G0 X1", deadline_s=600)
            assert any(isinstance(event, Banner) for event in news)

    play(scenario)


def test_after_a_reset_it_connects_again_and_counts_from_the_start(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            on_command(b"G0", peer.controller.reset(), peer)
            with pytest.raises(LinkError):
                await link.do("G0 X1", deadline_s=SOON_S)
            await link.connect()
            reply = await link.do("M114", deadline_s=SOON_S)
            assert reply.line == 2

    play(scenario)


def test_an_unplugged_port_fails_the_waiter_at_once(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            peer.reply = lambda lines: []
            peer.loop.call_later(0.01, peer.unplug)
            with pytest.raises(LinkError, match="has gone"):
                await link.do("G0 X1", deadline_s=600)

    play(scenario)


def test_a_port_plugged_in_again_is_found_again(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            peer.unplug()
            await asyncio.sleep(0)
            peer.loop.call_later(30, peer.plug_in)
            await link.connect(patience_s=60)
            assert (await link.do("M114", deadline_s=1)).position is not None

    play_in_memory(scenario)


def test_a_port_that_does_not_come_back_is_an_error_when_patience_ends(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            peer.unplug()
            with pytest.raises(PortError, match="no such port"):
                await link.connect(patience_s=60)
            assert 60 <= peer.loop.time() < 61

    play_in_memory(scenario)


def test_bytes_that_can_not_be_read_point_to_the_baud_rate(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: ["\x8c\xe3\xf7"]
        async with peer.link().running() as link:
            with pytest.raises(LinkError, match="no line could be read at 250000 baud"):
                await link.connect()

    play_in_memory(scenario)


def test_silence_from_the_start_is_said_to_be_silence(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: []
        async with peer.link().running() as link:
            with pytest.raises(LinkError, match="nothing answers"):
                await link.connect()

    play_in_memory(scenario)


def test_a_board_that_boots_late_is_greeted_once_it_is_awake(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: []

        def wake() -> None:
            peer.reply = lambda lines: lines
            peer.say("".join(f"{line}\n" for line in peer.controller.reset()).encode())

        peer.loop.call_later(0.15, wake)
        async with peer.link().running() as link:
            greeting = await link.connect()
            assert greeting.firmware

    play(scenario)


def test_a_cancelled_caller_drops_the_answer_never_the_exchange(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            first = asyncio.ensure_future(link.do("G0 X1", deadline_s=SOON_S))
            unsent = asyncio.ensure_future(link.do("G0 X2", deadline_s=SOON_S))
            await asyncio.sleep(0)
            first.cancel()
            unsent.cancel()
            reply = await link.do("M114", deadline_s=SOON_S)
            assert peer.controller.executed[1:] == ["G0 X1", "M114"]
            assert reply.line == 3
            for cancelled in (first, unsent):
                with suppress(asyncio.CancelledError):
                    await cancelled

    play(scenario)


def test_a_halt_goes_out_at_once_and_fails_whoever_waits(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            peer.reply = lambda lines: []
            peer.loop.call_later(0.01, link.halt)
            with pytest.raises(
                LinkError, match=r"halted by this program.*unless it comes back by itself"
            ):
                await link.do("G28", deadline_s=600)
            await until(lambda: peer.heard.endswith(HALT))

    play(scenario)


def test_a_halt_can_be_repeated_when_the_line_is_down(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            link.halt()
            link.halt()
            await until(lambda: peer.heard.endswith(HALT + HALT))

    play(scenario)


def test_busy_lines_extend_the_deadline(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            on_command(b"G28", [], peer)
            for second in range(1, 100):
                peer.loop.call_later(second, peer.say, b"echo:busy: processing\n")
            peer.loop.call_later(100, peer.say, b"ok\n")
            await link.do("G28", deadline_s=3)
            assert peer.loop.time() == pytest.approx(100, abs=1)
            assert link.resends == 0

    play_in_memory(scenario)


@pytest.mark.parametrize(("heating", "resends"), [(True, 0), (False, 1)])
def test_temperature_reports_extend_only_a_heating_deadline(
    play_in_memory: Play, heating: bool, resends: int
) -> None:
    async def scenario(peer: Peer) -> None:
        news: list[News] = []
        async with peer.link().running() as link:
            link.on_news.add(news.append)
            await link.connect()
            on_command(b"M190", [], peer)
            for second in range(1, 5):
                peer.loop.call_later(second, peer.say, b"T:20.0 /0.0 B:40.0 /60.0\n")
            peer.loop.call_later(5, peer.say, b"ok\n")
            await link.do("M190 S60", deadline_s=3, heating=heating)
            assert link.resends == resends
            reports = [event for event in news if isinstance(event, TemperatureReported)]
            assert reports[0].bed_c == 40.0

    play_in_memory(scenario)


def test_news_that_nobody_asked_for_is_passed_on(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        news: list[News] = []
        async with peer.link().running() as link:
            link.on_news.add(news.append)
            await link.connect()
            peer.say(b"//action:pause\n// hello\n")
            await until(lambda: len(news) == 2)
            assert news == [HostAsked(action="pause"), Info(text="hello", marked=True)]

    play(scenario)


def test_a_noisy_line_goes_down_and_says_so(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        limit = NoiseLimit(share=0.1, window=20)
        async with peer.link(noise=limit).running() as link:
            await link.connect()
            for _ in range(2):
                on_command(b"M400", ["Resend: 99999", "ok"], peer)  # doubted: no noise
                await link.do("M400", deadline_s=SOON_S)
            peer.reply = lambda lines: [f"Resend: {link.lines_sent - 1}", "ok"]
            with pytest.raises(LinkError, match="too many lines"):
                await link.do("M400", deadline_s=SOON_S)

    play(scenario)


def test_an_ok_too_many_in_one_piece_acknowledges_nothing(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            on_command(b"G0 X1", ["ok", "ok"], peer)
            first = asyncio.ensure_future(link.do("G0 X1", deadline_s=SOON_S))
            peer_waits = asyncio.ensure_future(link.do("G0 X2", deadline_s=SOON_S))
            assert (await first).line == 2
            await peer_waits
            assert peer.controller.executed[1:] == ["G0 X1", "G0 X2"]

    play(scenario)


def test_orders_before_connect_are_refused(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            with pytest.raises(LinkError, match="not open yet"):
                await link.do("M114", deadline_s=SOON_S)

    play(scenario)


def test_what_may_not_go_out_is_refused_before_a_byte_is_sent(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            before = peer.heard
            with pytest.raises(ValueError, match="not a command"):
                await link.do("g0 x1 ; home", deadline_s=SOON_S)
            assert peer.heard == before

    play(scenario)


def test_leaving_fails_whoever_still_waits(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            peer.reply = lambda lines: []
            waiting = asyncio.ensure_future(link.do("G28", deadline_s=600))
            await asyncio.sleep(0)
        with pytest.raises(LinkError, match="closed"):
            await waiting

    play_in_memory(scenario)


def test_every_line_both_ways_is_in_the_wire_log(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            await link.do("M114", deadline_s=SOON_S)
            shown = [line.split(maxsplit=1)[1] for line in link.wire_text().splitlines()]
            assert shown[-3] == "> N2 M114*37"
            assert shown[-2].startswith("< X:1.00 Y:2.00")
            assert shown[-1] == "< ok"

    play(scenario)


def test_nothing_is_sent_into_a_board_that_boots(play_in_memory: Play) -> None:
    """It boots 2 s after its port was opened, greets for another, and loses what came till then."""

    async def scenario(peer: Peer) -> None:
        heard_early: list[bytes] = []
        for at_s, line in ((2.0, b"start\n"), (2.2, b"echo:settings\n"), (2.4, b"echo:ready\n")):
            peer.loop.call_later(at_s, peer.say, line)
        peer.loop.call_later(2.5, lambda: heard_early.append(peer.heard))
        link = Link("peer", PortSettings(), open_port=peer.open)
        async with link.running():
            await link.connect()
            assert heard_early == [b""]
            assert link.resends == 0

    play_in_memory(scenario)


def test_a_board_that_boots_a_second_time_is_let_boot_again(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        heard: list[bytes] = []

        def boot_again(lines: list[str]) -> list[str]:
            peer.reply = lambda lines: []
            peer.controller.reset()
            heard.append(peer.heard)
            peer.say(b"start\n")
            peer.loop.call_later(0.2, peer.say, b"echo:settings\n")
            peer.loop.call_later(0.4, lambda: heard.append(peer.heard))
            peer.loop.call_later(0.4, lambda: setattr(peer, "reply", lambda lines: lines))
            return []

        on_m115 = lambda lines: boot_again(lines) if b"M115" in peer.heard else lines  # noqa: E731
        peer.reply = on_m115
        link = Link("peer", PortSettings(), open_port=peer.open)
        async with link.running():
            assert (await link.connect()).firmware
            assert heard[0] == heard[1]

    play_in_memory(scenario)


def test_a_board_too_old_to_say_who_it_is_is_talked_to_all_the_same(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: [line for line in lines if line == "ok"]
        async with peer.link().running() as link:
            assert (await link.connect()).firmware == ""
            assert link.is_up

    play(scenario)


def test_nuls_before_each_answer_cost_nothing(play: Play) -> None:
    async def scenario(peer: Peer) -> None:
        peer.reply = lambda lines: [f"\0\0{line}" for line in lines]
        async with peer.link().running() as link:
            await link.connect()
            reply = await link.do("M114", deadline_s=SOON_S)
            assert reply.position is not None
            assert link.resends == 0

    play(scenario)


def waited(link: Link) -> list[tuple[str, float]]:
    """What is told as late, and when, in seconds since it was sent."""
    told: list[tuple[str, float]] = []
    link.on_wait.add(lambda command, waited_s, usual_s: told.append((command, round(waited_s))))
    return told


def test_a_lost_ok_of_a_long_order_is_found_out_at_twice_its_usual_time(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            told = waited(link)
            on_command(b"G28", [], peer)
            began_s = peer.loop.time()
            await link.do("G28", deadline_s=183, usual_s=30)
            assert peer.loop.time() - began_s == pytest.approx(60, abs=1)
            assert told == [("G28", 60)]
            assert peer.controller.executed[1:] == ["G28"]
            assert (await link.do("M114", deadline_s=SOON_S)).position is not None

    play_in_memory(scenario)


def test_a_controller_that_says_it_is_busy_is_told_as_late_and_not_asked(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            told = waited(link)
            on_command(b"G28", [], peer)
            for second in range(2, 100, 2):
                peer.loop.call_later(second, peer.say, b"echo:busy: processing\n")
            peer.loop.call_later(99, peer.say, b"ok\n")
            await link.do("G28", deadline_s=183, usual_s=30)
            assert told == [("G28", at_s) for at_s in (60, 70, 80, 90)]
            assert link.resends == 0

    play_in_memory(scenario)


def test_a_silent_controller_is_asked_no_oftener_than_its_buffer_allows(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            told = waited(link)
            peer.reply = lambda lines: []
            with pytest.raises(LinkError, match="not answered"):
                await link.do("G28", deadline_s=183, usual_s=30)
            copies = peer.heard.split(b"M115")[1].count(b"G28")
            assert copies <= 5  # the order, its repetition at the deadline, and reminders
            assert len(told) > 20

    play_in_memory(scenario)


@pytest.mark.parametrize(
    ("error", "told"),
    [
        ("Error:Unknown command", [("Unknown command", True)]),
        ("Error:Printer halted. kill() called!", [("Printer halted. kill() called!", False)]),
    ],
)
def test_an_error_that_no_order_caused_is_told_as_such_but_not_one_that_ends_the_talk(
    play_in_memory: Play, error: str, told: list[tuple[str, bool]]
) -> None:
    async def scenario(peer: Peer) -> None:
        heard: list[tuple[str, bool]] = []
        link = peer.link()
        link.on_error.add(lambda text, unasked: heard.append((text, unasked)))
        async with link.running():
            await link.connect()
            peer.say(f"{error}\n".encode())
            await until(lambda: bool(heard))
            assert heard == told

    play_in_memory(scenario)


def test_an_error_in_answer_to_an_order_or_before_the_line_is_up_is_not_told_as_unasked(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        heard: list[tuple[str, bool]] = []
        link = peer.link()
        link.on_error.add(lambda text, unasked: heard.append((text, unasked)))
        on_command(b"M115", ["Error:no M115", "FIRMWARE_NAME:model", "ok"], peer)
        peer.loop.call_later(BRISK.listen_s / 2, peer.say, b"Error:no card\n")
        async with link.running():
            await link.connect()
            on_command(b"G28", ["Error:no G28", "ok"], peer)
            await link.do("G28", deadline_s=SOON_S)
            assert heard == [("no card", False), ("no M115", False), ("no G28", False)]

    play_in_memory(scenario)


def test_a_thermal_fault_before_the_line_is_up_is_told_to_all_and_keeps_it_shut(
    play_in_memory: Play,
) -> None:
    async def scenario(peer: Peer) -> None:
        told: list[LinkError] = []
        link = peer.link()
        link.on_fault.add(told.append)
        on_command(b"M115", ["Error:Thermal Runaway, system stopped! Heater_ID: E0"], peer)
        async with link.running():
            with pytest.raises(ThermalFault):
                await link.connect()
            assert [type(fault) for fault in told] == [ThermalFault]
            assert link.thermal_fault is told[0]
            with pytest.raises(ThermalFault):
                await link.connect()

    play_in_memory(scenario)


def test_a_touch_is_given_with_its_answer(play_in_memory: Play) -> None:
    async def scenario(peer: Peer) -> None:
        async with peer.link().running() as link:
            await link.connect()
            on_command(b"G30", ["Bed X: 30.00 Y: 190.00 Z: 0.012", "ok"], peer)
            reply = await link.do("G30 X30 Y190", deadline_s=SOON_S)
            assert reply.probe == ProbeResult(x_mm=30, y_mm=190, z_mm=0.012)

    play_in_memory(scenario)


@pytest.mark.parametrize(
    ("seen", "later", "known"),
    [
        (None, set(), None),
        (None, {True}, True),
        (None, {False}, False),
        (None, {True, False}, None),
        (True, set(), True),
        (False, {False}, False),
        (True, {False}, None),
    ],
)
def test_how_remarks_are_marked_is_known_while_all_are_marked_alike(
    seen: bool | None, later: set[bool], known: bool | None
) -> None:
    greeting = Greeting(firmware="", capabilities={}, marks_remarks=seen)
    assert greeting.after_remarks(later).marks_remarks is known
