"""Whatever happens on the line, each command is done exactly once, in order, or a fault is told.

A model controller at the other end, damage in both directions, replies lost and doubled, a
controller too slow for its deadline, resets. Draws are derandomised (conftest), so each run is
the same run.
"""

from dataclasses import dataclass, field

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from model_controller import ModelController

from hostctl.protocol.events import Event, PositionReported
from hostctl.protocol.exchange import OPENING, Exchange
from hostctl.protocol.lines import LineSplitter
from hostctl.protocol.replies import events_in
from hostctl.protocol.states import Done, Down, Idle, Output, Send, Settling

COMMANDS = st.sampled_from(["G0 X10.5 Y20", "M400", "M114", "G4 P100", "M106 S12"])
Damage = tuple[int, int]


def damaged(data: bytes, damage: Damage | None) -> bytes:
    """`data` with one byte changed, at a place and by a mask (0 to 255) that may be any number."""
    if damage is None or not data:
        return data
    at, mask = damage
    changed = bytearray(data)
    changed[at % len(data)] ^= mask
    return bytes(changed)


@dataclass
class Talk:
    """A host and a model controller with a pipe each way that a test moves by hand."""

    terse: bool
    exchange: Exchange = field(default_factory=Exchange)
    to_controller: list[bytes] = field(default_factory=list)
    to_host: list[bytes] = field(default_factory=list)
    submitted: list[str] = field(default_factory=list)
    done: list[int] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    proven: bool = False

    def __post_init__(self) -> None:
        self.controller = ModelController(terse=self.terse)
        self._splitter = LineSplitter()
        self.take(self.exchange.submit(OPENING))

    def submit(self, command: str) -> None:
        self.submitted.append(command)
        self.events.clear()
        self.take(self.exchange.submit(command))

    def take(self, outputs: list[Output]) -> None:
        for output in outputs:
            match output:
                case Send(data=data):
                    self.controller.sent_for_real.add(data.rstrip(b"\n"))
                    self.to_controller.append(data)
                case Done(line=line):
                    self.done.append(line)
                    self.proven = any(isinstance(e, PositionReported) for e in self.events)

    def controller_reads(self, damage: Damage | None = None) -> None:
        replies = self.controller.feed(damaged(self.to_controller.pop(0), damage))
        self.to_host += [reply.encode() + b"\n" for reply in replies]

    def host_hears(self, damage: Damage | None = None) -> None:
        for line in self._splitter.feed(damaged(self.to_host.pop(0), damage)):
            for event in events_in(line):
                self.events.append(event)
                self.take(self.exchange.receive(event))

    @property
    def is_down(self) -> bool:
        return isinstance(self.exchange.state, Down)

    def step(self) -> None:
        """The next thing that happens on a good line."""
        if self.to_controller:
            self.controller_reads()
        elif self.to_host:
            self.host_hears()
        elif isinstance(self.exchange.state, Settling):
            self.take(self.exchange.quiet())
        elif self.exchange.outstanding is not None:
            self.take(self.exchange.expire(self.exchange.outstanding))

    def come_to_rest(self) -> None:
        """Let everything on the way arrive."""
        for _ in range(2000):
            if self.is_down or (isinstance(self.exchange.state, Idle) and not self.on_the_way()):
                return
            self.step()
        raise AssertionError("the talk never comes to rest")

    def on_the_way(self) -> int:
        return len(self.to_controller) + len(self.to_host)

    def end_in_step(self) -> None:
        """Ask for the position until it comes, as the end of each motion does."""
        self.come_to_rest()
        for _ in range(20):
            if self.is_down:
                return
            self.submit("M114")
            self.come_to_rest()
            if self.proven:
                return
        raise AssertionError("the position never came")

    def assert_exactly_once(self) -> None:
        assert self.is_down or self.controller.executed == self.submitted
        assert self.controller.executed == self.submitted[: len(self.controller.executed)]
        assert self.done == sorted(set(self.done))


damages = st.tuples(st.integers(0, 60), st.integers(1, 255))
maybe_damages = st.none() | damages
fates = st.sampled_from(["arrives"] * 5 + ["lost", "doubled"])


@pytest.mark.slow
@given(
    terse=st.booleans(),
    commands=st.lists(COMMANDS, min_size=1, max_size=25),
    out=st.lists(st.none() | st.none() | damages, max_size=60),
    back=st.lists(st.tuples(fates, maybe_damages), max_size=60),
)
@settings(max_examples=400)
def test_each_command_is_done_exactly_once_or_a_fault_is_told(
    terse: bool,
    commands: list[str],
    out: list[Damage | None],
    back: list[tuple[str, Damage | None]],
) -> None:
    talk = Talk(terse)
    while commands and not talk.is_down:
        if talk.to_controller:
            talk.controller_reads(out.pop() if out else None)
        elif talk.to_host:
            fate, damage = back.pop() if back else ("arrives", None)
            line = talk.to_host[0]
            if fate == "lost":
                talk.to_host.pop(0)
            else:
                talk.to_host.insert(1, line) if fate == "doubled" else None
                talk.host_hears(damage)
        elif isinstance(talk.exchange.state, Idle):
            talk.submit(commands.pop())
        else:
            talk.step()
    talk.end_in_step()
    assume(not talk.controller.slipped_through)
    talk.assert_exactly_once()


class AnyTalk(RuleBasedStateMachine):
    """Any order of deliveries, damage, losses, early deadlines and resets."""

    @initialize(terse=st.booleans())
    def open(self, terse: bool) -> None:
        self.talk = Talk(terse)

    @precondition(lambda self: isinstance(self.talk.exchange.state, Idle))
    @rule(command=COMMANDS)
    def submit(self, command: str) -> None:
        self.talk.submit(command)

    @precondition(lambda self: self.talk.to_controller)
    @rule(damage=maybe_damages)
    def controller_reads(self, damage: Damage | None) -> None:
        self.talk.controller_reads(damage)

    @precondition(lambda self: self.talk.to_host)
    @rule(damage=maybe_damages)
    def host_hears(self, damage: Damage | None) -> None:
        self.talk.host_hears(damage)

    @precondition(lambda self: self.talk.to_host)
    @rule()
    def a_reply_is_lost(self) -> None:
        self.talk.to_host.pop(0)

    @precondition(lambda self: self.talk.to_host)
    @rule()
    def a_reply_is_doubled(self) -> None:
        self.talk.to_host.insert(0, self.talk.to_host[0])

    @precondition(lambda self: self.talk.to_controller)
    @rule()
    def a_line_is_lost(self) -> None:
        self.talk.to_controller.pop(0)

    @precondition(lambda self: self.talk.exchange.outstanding is not None)
    @rule(back=st.integers(0, 2))
    def a_deadline_passes(self, back: int) -> None:
        line = self.talk.exchange.outstanding or 0
        self.talk.take(self.talk.exchange.expire(line - back))

    @precondition(lambda self: self.talk.exchange.outstanding is not None)
    @rule()
    def it_takes_long_and_is_asked_after(self) -> None:
        self.talk.take(self.talk.exchange.remind(self.talk.exchange.outstanding or 0))

    @rule()
    def it_seems_quiet(self) -> None:
        self.talk.take(self.talk.exchange.quiet())

    @invariant()
    def what_was_executed_is_what_was_submitted_so_far(self) -> None:
        executed = self.talk.controller.executed
        assume(not self.talk.controller.slipped_through)
        assert executed == self.talk.submitted[: len(executed)]

    def teardown(self) -> None:
        if hasattr(self, "talk"):
            self.talk.end_in_step()
            if not self.talk.controller.slipped_through:
                self.talk.assert_exactly_once()


@pytest.mark.slow
def test_any_talk_ends_with_each_command_done_once_or_a_fault() -> None:
    run_state_machine_as_test(
        AnyTalk, settings=settings(max_examples=150, stateful_step_count=40, deadline=None)
    )


@given(st.binary(max_size=300))
def test_no_bytes_from_the_controller_ever_raise(stream: bytes) -> None:
    talk = Talk(terse=False)
    talk.to_host.append(stream + b"\n")
    talk.host_hears()


@given(at=st.integers(0, 6), terse=st.booleans())
def test_a_reset_in_mid_run_is_a_fault_and_nothing_is_done_twice(at: int, terse: bool) -> None:
    talk = Talk(terse)
    talk.come_to_rest()
    for number in range(8):
        if talk.is_down:
            break
        if number == at:
            talk.to_host += [line.encode() + b"\n" for line in talk.controller.reset()]
        talk.submit(f"G0 X{number}")
        talk.come_to_rest()
    assert talk.is_down
    talk.assert_exactly_once()
