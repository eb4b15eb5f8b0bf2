"""The talk at a real pseudo-terminal; its clock is the test's, so nobody waits."""

import asyncio
import os
import pty
import re
import signal
import termios
from collections.abc import AsyncIterator, Coroutine
from contextlib import asynccontextmanager, suppress
from select import select
from typing import Any

import pytest

from hostctl.begin.screen.page import HANDS_OUT
from hostctl.begin.screen.typed_line import NO_PASTE, TOO_SOON
from hostctl.begin.talk import BackAsked, LeaveAsked, NotNow
from hostctl.begin.terminal import STANDS_STILL, TOLD_TO_HALT, Terminal
from hostctl.channels.terminal.pasted import ASK as PASTE_MARKED
from hostctl.channels.terminal.pasted import ASK_NO_MORE as PASTE_UNMARKED
from hostctl.drafts.question import Question, Way
from hostctl.errors import MachineError, UsageError

WIDTH = Question(
    key="travel.x.to_mm",
    text="How far can the head go to the right?",
    why="It is never sent further. The maker's manual says it.",
    kind="number",
    unit="mm",
    most=1000,
    suggested="200",
    read="235 mm\x1b[2J\x07",
    words={"head": "what carries the nozzle"},
)
MOVED = Question(
    key="found.contact_z_mm",
    text="Has the number moved?",
    why="So the height is found at which the plunger touches.",
    kind="choice",
    ways=(
        Way(word="no", text="it shows what it showed", value=False),
        Way(word="yes", text="it moved, however little", value=True),
    ),
    suggested="no",
)
COLOURS = {"\x1b[1m", "\x1b[2m", "\x1b[1;33m", "\x1b[0m"}
DOWN = "the head goes down 0.1 mm"


class Person:
    """Somebody at the other end of the pseudo-terminal, who looks before answering."""

    def __init__(self) -> None:
        self.end, self.tty = pty.openpty()
        os.set_blocking(self.end, False)
        self.now_s = 0.0
        self.shown = ""
        self.halted = 0

    def halt(self) -> None:
        self.halted += 1

    def press(self, keys: str) -> None:
        os.write(self.end, keys.encode())

    async def sees(self, text: str, times: int = 1) -> str:
        """All that was shown, once `text` is in it so often."""
        self._look()
        while self.shown.count(text) < times:
            await asyncio.sleep(0.002)
            self._look()
        return self.shown

    def _look(self) -> None:
        with suppress(BlockingIOError):
            self.shown += os.read(self.end, 65536).decode().replace("\r\n", "\n")

    async def answers(self, *lines: str) -> None:
        """Each when a prompt stands there and was looked at."""
        for line in lines:
            await self.sees("> ", self.shown.count("> ") if self._prompted() else self._next())
            self.now_s += 5.0
            self.press(f"{line}\r")
            await self.sees("\n", self.shown.count("\n") + 1)

    def _prompted(self) -> bool:
        return self.shown.endswith("> ")

    def _next(self) -> int:
        return self.shown.count("> ") + 1


@pytest.fixture(autouse=True)
def plain_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for key, value in {"TERM": "xterm", "NO_COLOR": "1", "LC_ALL": "C.UTF-8"}.items():
        monkeypatch.setenv(key, value)


@asynccontextmanager
async def at_the_terminal() -> AsyncIterator[tuple[Person, Terminal]]:
    person = Person()
    with Terminal.opened(person.tty, person.tty, clock=lambda: person.now_s, second_s=0.02) as talk:
        yield person, talk
    for fd in (person.end, person.tty):
        with suppress(OSError):  # some tests close it
            os.close(fd)


async def answer_to(asking: Coroutine[Any, Any, Any], person: Person, *lines: str) -> Any:
    async with asyncio.timeout(60), asyncio.TaskGroup() as tasks:
        asked = tasks.create_task(asking)
        await person.answers(*lines)
    return asked.result()


async def test_a_question_says_why_and_what_the_machine_said_which_orders_nothing():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask(WIDTH), person, "220 mm") == 220.0
        assert "\x1b[2J" not in person.shown
        assert "\x07" not in person.shown
        said = [
            "How far can the head go to the right?",
            "The maker's manual says it.",
            "The controller says: 235 mm\N{REPLACEMENT CHARACTER}[2J",
            "(shown, not taken)",
            "? says what this means: head",
            "[200] mm > 220 mm\n",
        ]
        places = [person.shown.index(each) for each in said]
        assert places == sorted(places)


async def test_enter_takes_what_is_suggested_and_shows_it():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask(WIDTH), person, "") == 200.0
        await person.sees("[200] mm > 200\n")


async def test_a_question_mark_shows_what_words_mean_and_what_may_always_be_said():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask(WIDTH), person, "?", "220") == 220.0
        assert "  head  what carries the nozzle\n" in person.shown
        assert person.shown.count("  back   the answer before this one again\n") == 2  # greeted too


async def test_an_unclear_answer_says_why_in_one_line_and_asks_again_without_the_page():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask(WIDTH), person, "wide", "x", "220") == 220.0
        assert "> wide\n'wide' is no number: type it like 12.5 mm.\n[200] mm > " in person.shown
        assert STANDS_STILL in person.shown
        assert person.shown.count(WIDTH.text) == 1


@pytest.mark.parametrize(
    ("word", "asked"), [("back", BackAsked), ("Leave", LeaveAsked), ("\x04", LeaveAsked)]
)
async def test_back_and_leave_are_always_possible(word: str, asked: type[Exception]):
    async with at_the_terminal() as (person, talk):
        with pytest.RaisesGroup(asked):
            await answer_to(talk.ask_to_move(MOVED, DOWN), person, word)


def called(word: str) -> Question:
    way = Way(word=word, text="at the back, on the left", value=1)
    return Question(key="k", text="Where?", why="So.", kind="several", ways=(way,), suggested=word)


async def test_a_way_may_not_be_called_what_is_always_possible():
    async with at_the_terminal() as (_, talk):
        with pytest.raises(ValueError, match="back"):
            await talk.ask(called("back"))


async def test_a_place_whose_name_begins_like_that_may_be_asked_for():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask(called("back-left")), person, "back-left") == "back-left"


async def test_a_terminal_that_goes_away_leaves():
    async with at_the_terminal() as (person, talk):
        asking = asyncio.create_task(talk.ask(WIDTH))
        await person.sees("> ")
        os.close(person.end)
        with pytest.raises(LeaveAsked):
            await asyncio.wait_for(asking, 60)
        with pytest.raises(LeaveAsked):
            await talk.say("Still there?")


async def test_what_was_typed_before_the_question_or_too_soon_after_it_answers_nothing():
    async with at_the_terminal() as (person, talk):
        person.press("1\r2\r")
        asking = asyncio.create_task(talk.ask(WIDTH))
        await person.sees("> ")
        await asyncio.sleep(0.005)
        assert (await person.sees("> ")).count("> ") == 1
        person.press("3")
        await person.sees("> 3")
        person.now_s += 5.0
        person.press("\r")
        await person.sees(f"> 3\n{TOO_SOON}\n[200] mm > ")
        assert not asking.done()
        person.now_s += 0.5
        person.press("4\r")
        assert await asyncio.wait_for(asking, 60) == 4.0


@pytest.mark.parametrize(
    "pasted",
    [
        ("\x1b[200~yes\ryes\r\x1b[201~",),
        ("\x1b[20", "0~yes\r", "yes\r\x1b[201~"),
        ("y\ry\r",),
    ],
)
async def test_a_paste_moves_nothing(pasted: tuple[str, ...]):
    async with at_the_terminal() as (person, talk):
        asking = asyncio.create_task(talk.ask_to_move(MOVED, DOWN))
        await person.sees("> ")
        person.now_s += 5.0
        for piece in pasted:
            person.press(piece)
            await asyncio.sleep(0.002)
        await person.sees(f"{NO_PASTE}\n")
        await person.sees(f"{HANDS_OUT}\n> ", 2)
        assert not asking.done()
        person.now_s += 5.0
        person.press("n\r")
        assert await asyncio.wait_for(asking, 60) is False


async def test_where_something_moves_nothing_is_suggested_and_hands_out_stands_last():
    async with at_the_terminal() as (person, talk):
        assert await answer_to(talk.ask_to_move(MOVED, DOWN), person, "", "y") is True
        above = f"Moves next: {DOWN}.\n{HANDS_OUT}\n> "
        assert person.shown.count(above) == 2
        assert person.shown.count("Emergency stop: the mains switch") == 3
        assert "[no]" not in person.shown


async def test_the_same_motion_asked_again_is_asked_in_short():
    async with at_the_terminal() as (person, talk):
        await answer_to(talk.ask_to_move(MOVED, DOWN), person, "n")
        first, person.shown = person.shown, ""
        assert await answer_to(talk.ask_to_move(MOVED, DOWN), person, "y") is True
        closing = f"Moves next: {DOWN}. Mains switch at hand. Hands out first."
        assert person.shown == f"\n{MOVED.text}\n{closing}\nno, yes > y\n"
        await answer_to(talk.ask(WIDTH), person, "")
        person.shown = ""
        await answer_to(talk.ask_to_move(MOVED, DOWN), person, "n")
        assert person.shown == first[first.index(f"\n{MOVED.text}") :]


async def test_whoever_went_back_is_asked_as_a_whole_again():
    async with at_the_terminal() as (person, talk):
        await answer_to(talk.ask_to_move(MOVED, DOWN), person, "n")
        with pytest.RaisesGroup(BackAsked):
            await answer_to(talk.ask_to_move(MOVED, DOWN), person, "back")
        await person.sees("> back\n")
        await answer_to(talk.ask_to_move(MOVED, DOWN), person, "n")
        assert person.shown.count(MOVED.why) == 2


async def test_a_countdown_stands_on_one_line():
    async with at_the_terminal() as (person, talk):
        await talk.countdown("The head goes home", 3)
        await person.sees("The head goes home. Any key calls it off.\nMoves in 3 … 2 … 1\n")


@pytest.mark.parametrize("key", [" ", "x", "\r", "\x1b[A"])
async def test_any_key_calls_a_motion_off(key: str):
    async with at_the_terminal() as (person, talk):
        counting = asyncio.create_task(talk.countdown("The head goes home", 1000))
        await person.sees("Moves in 1000")
        person.press(key)
        with pytest.raises(NotNow):
            await asyncio.wait_for(counting, 60)
        await person.sees("Called off: nothing moved.")


async def test_a_key_that_comes_as_the_countdown_ends_calls_it_off_too():
    person = Person()
    with Terminal.opened(person.tty, person.tty, second_s=0.0) as talk:
        person.press("x")
        select([person.tty], [], [])
        with pytest.raises(NotNow):
            await talk.countdown("The head goes home", 1)


async def test_a_terminal_that_goes_away_calls_a_motion_off():
    async with at_the_terminal() as (person, talk):
        counting = asyncio.create_task(talk.countdown("The head goes home", 1000))
        await person.sees("Moves in 1000")
        os.close(person.end)
        with pytest.raises(LeaveAsked):
            await asyncio.wait_for(counting, 60)


async def test_while_something_moves_x_alone_counts_and_needs_no_enter():
    async with at_the_terminal() as (person, talk):
        async with talk.moving("The head goes home", person.halt):
            await person.sees("Hands clear. The head goes home. Key x: halt.")
            person.press("yes\r \x1b[x")
            await asyncio.sleep(0.01)
            assert person.halted == 0
            person.press("x")
            await person.sees(TOLD_TO_HALT)
            assert person.halted == 1
            person.press("yes\r")
        asking = asyncio.create_task(talk.ask_to_move(MOVED, DOWN))
        await person.sees("> ")
        person.now_s += 5.0
        await asyncio.sleep(0.01)
        assert not asking.done()
        asking.cancel()


@pytest.mark.parametrize("fails", [True, False])
async def test_a_terminal_that_goes_away_while_something_moves_halts_it(fails: bool):
    halted = asyncio.Event()

    async def move(talk: Terminal) -> None:
        async with talk.moving("The head goes home", halted.set):
            os.close(person.end)
            await asyncio.wait_for(halted.wait(), 60)
            if fails:
                raise MachineError("machine", "it was halted", "Home it.")

    async with at_the_terminal() as (person, talk):
        with pytest.raises(LeaveAsked):
            await move(talk)


async def test_a_program_that_is_interrupted_while_something_moves_halts_it():
    async with at_the_terminal() as (person, talk):
        begun = asyncio.Event()

        async def move() -> None:
            async with talk.moving("The head goes home", person.halt):
                begun.set()
                await asyncio.sleep(60)

        moving = asyncio.create_task(move())
        await asyncio.wait_for(begun.wait(), 60)
        moving.cancel()
        with pytest.raises(asyncio.CancelledError):
            await moving
        assert person.halted == 1


async def test_that_the_machine_could_not_be_told_to_halt_is_not_hidden():
    told = asyncio.Event()

    def stop() -> None:
        told.set()
        raise RuntimeError("a bug")

    async def move(talk: Terminal) -> None:
        async with talk.moving("The head goes home", stop):
            person.press("x")
            await asyncio.wait_for(told.wait(), 60)

    async with at_the_terminal() as (person, talk):
        with pytest.raises(RuntimeError, match="a bug"):
            await move(talk)


async def test_what_fails_while_something_moves_comes_out_as_it_is():
    async with at_the_terminal() as (person, talk):
        with pytest.raises(MachineError):
            async with talk.moving("The head goes home", person.halt):
                raise MachineError("machine", "it was unplugged", "Plug it in.")


@pytest.mark.parametrize("failure", [None, LeaveAsked, KeyboardInterrupt])
async def test_the_terminal_is_left_as_it_was_found(failure: type[BaseException] | None):
    person = Person()
    before, hang_up = termios.tcgetattr(person.tty), signal.getsignal(signal.SIGHUP)
    with suppress(LeaveAsked, KeyboardInterrupt), Terminal.opened(person.tty, person.tty):
        during = termios.tcgetattr(person.tty)
        assert not during[3] & (termios.ICANON | termios.ECHO)
        assert during[3] & termios.ISIG  # Ctrl-C interrupts
        assert during[6][termios.VSUSP] == b"\0"
        await person.sees(PASTE_MARKED)
        if failure is not None:
            raise failure
    assert termios.tcgetattr(person.tty) == before
    assert signal.getsignal(signal.SIGHUP) == hang_up
    assert (await person.sees(PASTE_UNMARKED)).endswith(PASTE_UNMARKED)


async def test_after_an_interrupted_question_a_new_line_begins():
    person = Person()
    with Terminal.opened(person.tty, person.tty) as talk:
        asking = asyncio.create_task(talk.ask(WIDTH))
        await person.sees("> ")
        asking.cancel()
    await person.sees(f"> \n{PASTE_UNMARKED}")


@pytest.mark.parametrize(
    ("environment", "orders"),
    [
        ({"TERM": "dumb", "NO_COLOR": ""}, set()),
        ({"TERM": "xterm", "NO_COLOR": "1"}, {"\x1b[?2004h"}),
        ({"TERM": "xterm", "NO_COLOR": ""}, {"\x1b[?2004h", *COLOURS}),
    ],
)
async def test_a_terminal_is_sent_only_orders_that_it_knows(
    environment: dict[str, str], orders: set[str], monkeypatch: pytest.MonkeyPatch
):
    for key, value in environment.items():
        monkeypatch.setenv(key, value)
    async with at_the_terminal() as (person, talk):
        await answer_to(talk.ask_to_move(MOVED, DOWN), person, "y")
        assert set(re.findall(r"\x1b(?:\[[^a-zA-Z]*[a-zA-Z])?", person.shown)) == orders


async def test_a_terminal_that_knows_ascii_alone_gets_nothing_else(
    monkeypatch: pytest.MonkeyPatch,
):
    monkeypatch.setenv("LC_ALL", "C")
    async with at_the_terminal() as (person, talk):
        await talk.say("± 0.1 mm … 60 °C")
        name = Question(key="machine", text="What is it called?", why="So.")
        assert await answer_to(talk.ask(name), person, "é") == "é"
        await person.sees("> ?\n")
        assert person.shown.isascii()


async def test_no_line_is_wider_than_the_terminal_and_parted_lines_stay_so():
    async with at_the_terminal() as (person, talk):
        termios.tcsetwinsize(person.tty, (24, 40))
        await talk.say(f"travel:\n  x: {'0 to 235 ' * 10}\n\nend")
        shown = await person.sees("end\n")
        assert max(len(line) for line in shown.split("\n")[1:]) <= 40
        assert "travel:\n  x: 0 to 235" in shown
        assert "\n\nend\n" in shown


def test_where_there_is_no_terminal_it_says_what_to_do():
    keyboard, screen = os.pipe()
    with (
        pytest.raises(UsageError, match="terminal beside the machine"),
        Terminal.opened(keyboard, screen),
    ):
        pass
    os.close(keyboard)
    os.close(screen)
