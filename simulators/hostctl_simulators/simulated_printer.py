"""A whole simulated printer: world, board, cable; and the url that describes it."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field, fields, replace
from typing import TypeVar
from urllib.parse import parse_qsl, urlsplit

from hostctl_simulators.agenda import Agenda
from hostctl_simulators.board.board_states import Deed
from hostctl_simulators.board.deeds import deed_of
from hostctl_simulators.board.faults import FaultCounts, FaultPlan, Touching
from hostctl_simulators.board.firmware import Firmware
from hostctl_simulators.board.panel import Panel
from hostctl_simulators.board.received_line import Command
from hostctl_simulators.board.serial_side import SerialSide
from hostctl_simulators.board.wording import WORDINGS
from hostctl_simulators.pace import MAX, Speed
from hostctl_simulators.physical.bench_faults import BenchFaults
from hostctl_simulators.physical.build import Build
from hostctl_simulators.physical.printers import PRINTERS
from hostctl_simulators.physical.world import World
from hostctl_simulators.strangers import KIND_OF_STRANGERS, STRANGER, keys_of_stranger

OnBytes = Callable[[bytes], None]
OnLost = Callable[[str], None]
N = TypeVar("N", int, float, str)
P = TypeVar("P", FaultPlan, BenchFaults, Build)
BENCH_KEYS, BUILD_KEYS = ({each.name for each in fields(kind)} for kind in (BenchFaults, Build))


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """What a printer is made from."""

    kind: str = "workshop-220"
    seed: int = 7
    speed: Speed = MAX
    dialect: str | None = None  # None: the printer's own
    faults: FaultPlan = field(default_factory=FaultPlan)
    bench_faults: BenchFaults = field(default_factory=BenchFaults)
    build: Build = field(default_factory=Build)

    @classmethod
    def parse(cls, url: str) -> "Description":
        """From `sim://NAME?seed=7&speed=max&dialect=terse&corrupt=0.002&…`.

        `stranger` is another printer for each seed (`strangers.py`).
        Each field of `FaultPlan`, `BenchFaults` and `Build` is a key; `corrupt` stands for both
        ways at once.
        Raises ValueError that says which part is wrong.
        """
        parts = urlsplit(url)
        asked: dict[str, str] = dict(
            parse_qsl(parts.query, keep_blank_values=True, strict_parsing=bool(parts.query))
        )
        if (both := asked.pop("corrupt", None)) is not None:
            asked |= {"corrupt_to_printer": both, "corrupt_to_host": both}
        seed = _number(int, "seed", asked.pop("seed", "7"))
        name = parts.netloc or cls().kind
        if name == STRANGER:
            name, asked = KIND_OF_STRANGERS, keys_of_stranger(seed) | asked
        whole = cls(
            kind=_one_of(PRINTERS, name, "printer"),
            seed=seed,
            speed=Speed.parse(asked.pop("speed", "max")),
            dialect=asked.pop("dialect", None),
        )
        if whole.dialect is not None:
            _one_of(WORDINGS, whole.dialect, "dialect")
        at_bench = {key: asked.pop(key) for key in asked.keys() & BENCH_KEYS}
        built = {key: asked.pop(key) for key in asked.keys() & BUILD_KEYS}
        return replace(
            whole,
            faults=_plan(FaultPlan(), asked),
            bench_faults=_plan(BenchFaults(), at_bench),
            build=_plan(Build(), built),
        )


def _one_of(known: Collection[str], name: str, what: str) -> str:
    if name not in known:
        raise ValueError(f"no simulated {what} is called '{name}'; there are {', '.join(known)}")
    return name


def _plan(plan: P, asked: dict[str, str]) -> P:
    """The plan with what is asked."""
    for key, text in asked.items():
        present = getattr(plan, key, None)
        if present is None:
            raise ValueError(f"'{key}' is not a key of a simulated printer")
        plan = replace(plan, **{key: _number(type(present), key, text)})
    return plan


def _number(kind: type[N], key: str, text: str) -> N:
    try:
        return kind(text)
    except ValueError:
        wanted = "a whole number" if kind is int else "a number"
        raise ValueError(f"'{key}' takes {wanted}, not '{text}'") from None


class SimulatedPrinter:
    """World, board and cable. Time passes only as `agenda` is driven (`pace.Pacer`, or a test)."""

    def __init__(self, description: Description | None = None) -> None:
        self.description = what = description or Description()
        kind = PRINTERS[what.kind]
        self.agenda = Agenda()
        self.counts = FaultCounts()
        self.world = World(
            kind, what.seed, lambda: self.agenda.now_s, what.bench_faults, what.build
        )
        self.world.touch_fails = Touching(what.faults, what.seed, self.counts).fails
        self.serial = SerialSide(self.agenda, kind.baud, what.faults, what.seed, self.counts)
        self.board = Firmware(
            self.agenda,
            self.world,
            self.serial,
            WORDINGS[what.dialect or kind.dialect],
            what.faults,
            self.counts,
            self._deed_of,
        )
        self.panel = Panel(self.agenda, self.board)
        self.board.on_unplug = self.unplug
        self.plugged = True  # False: the cable is pulled, nobody can connect
        self.on_replugged: Callable[[], None] | None = None
        self._on_lost: OnLost | None = None

    def _deed_of(self, board: Firmware, command: Command) -> Deed:
        self.panel.look_at(command)
        return deed_of(board, command)

    @property
    def connected(self) -> bool:
        """Whether somebody holds the other end of the cable."""
        return self._on_lost is not None

    def connect(self, on_bytes: OnBytes, on_lost: OnLost, *, reset: bool = True) -> None:
        """Take the other end of the cable; the board resets, as most do when a port is opened.

        A board that was never on is switched on whatever `reset` says.
        Raises ConnectionError when the cable is pulled or somebody holds it already.
        """
        if not self.plugged:
            raise ConnectionError("the cable is not plugged in")
        if self.connected:
            raise ConnectionError("somebody else holds it")
        self.serial.cable_moved()
        self.serial.to_host, self._on_lost = on_bytes, on_lost
        if reset or not self.board.on:
            self.board.reset()

    def write(self, data: bytes) -> None:
        """Send bytes to the printer; with the cable pulled they go nowhere."""
        if self.connected:
            self.serial.receive(data)

    def disconnect(self) -> None:
        """Let go of the cable. The board stays on."""
        self.serial.cable_moved()
        self.serial.to_host = self._on_lost = None

    def unplug(self, replug_after_s: float = float("inf")) -> None:
        """Pull the cable; it is plugged in again after so long, and can then be connected to."""
        self.plugged = False
        on_lost = self._on_lost
        self.disconnect()
        if replug_after_s != float("inf"):
            self.agenda.after(replug_after_s, self.replug)
        if on_lost is not None:
            on_lost("the cable was pulled")

    def replug(self) -> None:
        """Plug the cable in again."""
        self.plugged = True
        if self.on_replugged is not None:
            self.on_replugged()
