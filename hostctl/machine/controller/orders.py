"""Orders as the controller hears them, each with its deadline. What it refuses is an error here."""

import unicodedata

from hostctl.config.machine import Machine as MachineFile
from hostctl.errors import MachineError
from hostctl.link.reply import Greeting, Reply
from hostctl.machine.controller.line import Line
from hostctl.machine.dialects.number import plain
from hostctl.machine.envelope import Move, Vertical
from hostctl.records import Heat, Position

ANSWER_S = 3.0
"""For what is answered at once; added to whatever takes time."""

AT_LEAST_S = 3.0
"""Nothing that moves is called late before twice this."""

LONGEST_MESSAGE = 20

ASKS = frozenset({"M27", "M105", "M114", "M115"})
"""What sets nothing and moves nothing."""

TRIES = 8
"""Replies carry no checksum: a report that was damaged on the way is asked for again."""


class Refused(MachineError):
    """The controller would not do a command. `marked`: it said so with `!!`."""

    marked = False


class Orders:
    """Words to one controller. Raises LinkError (the line) or MachineError (it refused)."""

    def __init__(self, machine: MachineFile, line: Line) -> None:
        self.where = f"machine '{machine.machine}'"
        self.only_asks = False
        """Whether nothing may go out but what asks."""
        self._line = line
        self._bed_is_told = False

    async def do(
        self, command: str, *, takes_s: float = 0.0, usual_s: float | None = None
    ) -> Reply:
        """Have a command done that takes `takes_s` at most; half as long again is still no fault.

        usual_s: what it usually takes; from twice that on people are told. None: `takes_s`.
        A refusal is believed when it comes twice: what the controller says of a damaged line may
        itself be damaged, and then looks like a refusal. No command of ours does harm twice.
        """
        reply = await self._send(command, takes_s, usual_s)
        if reply.errors:
            reply = await self._send(command, takes_s, usual_s)
        if reply.errors:
            said = dict.fromkeys(error.text for error in reply.errors)  # each once, the first first
            refused = Refused(
                self.where,
                f"it refused '{command}': {'; then: '.join(said)}",
                "See what the machine's own screen says; it homes again before it goes on.",
            )
            refused.marked = any(error.marked for error in reply.errors)
            raise refused
        return reply

    async def attempt(
        self, command: str, *, takes_s: float = 0.0, usual_s: float | None = None
    ) -> Reply:
        """As `do`, but once, and what it says against it is left to the caller to judge."""
        return await self._send(command, takes_s, usual_s)

    async def move(self, move: Move, at: Position) -> str:
        """Make a move from `at` and wait until it is over. Gives what it said against it.

        A move is given once: whether it was done is for its position to prove.
        """
        takes_s = length_mm(move, at) / move.speed_mm_s
        replies = [await self._send(_worded(move), takes_s), await self._send("M400", takes_s)]
        return "; ".join(error.text for reply in replies for error in reply.errors)

    async def introduction(self) -> Greeting:
        """Who it says it is."""
        return Greeting.of(await self.do("M115"))

    async def position(self) -> Position:
        """Where the head is by the controller's own count."""
        for _ in range(TRIES):
            at = (await self.do("M114")).position
            if at is not None:
                return Position(x_mm=at.x_mm, y_mm=at.y_mm, z_mm=at.z_mm)
        raise self._silent_about("where its head is")

    async def heat(self) -> Heat:
        """What it says of its heat; a figure that it has given before is asked for again."""
        said: Heat | None = None
        for _ in range(TRIES):
            heat = (await self.do("M105")).temperature
            if heat is not None:
                said = Heat(
                    nozzle_c=heat.nozzle_c,
                    bed_c=heat.bed_c,
                    nozzle_target_c=heat.nozzle_target_c,
                    bed_target_c=heat.bed_target_c,
                )
                if self._is_whole(said):
                    break
        if said is None:
            raise self._silent_about("its temperatures")
        return said

    def _is_whole(self, said: Heat) -> bool:
        """A bed may have no sensor; if it had one a moment ago, its figure was damaged."""
        self._bed_is_told = self._bed_is_told or said.bed_c is not None
        return said.nozzle_c is not None and (said.bed_c is not None or not self._bed_is_told)

    async def _send(self, command: str, takes_s: float, usual_s: float | None = None) -> Reply:
        if self.only_asks and command.split(" ")[0] not in ASKS:
            raise MachineError(
                self.where,
                f"'{command}' was not sent: nobody knows yet that it runs no job of its own",
                "Wait until it is at rest.",
            )
        usual_s = max(takes_s if usual_s is None else usual_s, AT_LEAST_S) if takes_s else None
        return await self._line.do(command, deadline_s=1.5 * takes_s + ANSWER_S, usual_s=usual_s)

    def _silent_about(self, what: str) -> MachineError:
        return MachineError(
            self.where, f"it does not say {what}", "Check the dialect in the machine file."
        )


def _worded(move: Move) -> str:
    speed = f"F{plain(move.speed_mm_s * 60)}"
    if isinstance(move, Vertical):
        return f"G1 Z{plain(move.z_mm)} {speed}"
    return f"G1 X{plain(move.x_mm)} Y{plain(move.y_mm)} {speed}"


def length_mm(move: Move, at: Position) -> float:
    """How far the head goes; never less than 0."""
    if isinstance(move, Vertical):
        return abs(move.z_mm - at.z_mm)
    return float(((move.x_mm - at.x_mm) ** 2 + (move.y_mm - at.y_mm) ** 2) ** 0.5)


def end_of(move: Move, at: Position) -> Position:
    """Where the head is after the move."""
    if isinstance(move, Vertical):
        return Position(x_mm=at.x_mm, y_mm=at.y_mm, z_mm=move.z_mm)
    return Position(x_mm=move.x_mm, y_mm=move.y_mm, z_mm=at.z_mm)


def waits_in_words(command: str, waited_s: float, usual_s: float) -> str:
    """What is waited for, for people: how long, and what is usual."""
    deeds = {"G28": "homing", "G30": "the touch", "G4": "a pause", "M400": "the move or homing"}
    deed = deeds.get(command.partition(" ")[0], "the move")
    return (
        f"Waiting for the end of {deed} ({command}) for {waited_s:.0f} s; "
        f"it usually takes {usual_s:.0f} s."
    )


def printable(text: str) -> str:
    """`text` in the characters a machine's small screen has: ASCII, no comment, no checksum."""
    ascii_only = unicodedata.normalize("NFKD", text.replace("°", " deg")).encode("ascii", "ignore")
    return ascii_only.decode().translate(str.maketrans(";*\n", ",  "))[:LONGEST_MESSAGE].strip()
