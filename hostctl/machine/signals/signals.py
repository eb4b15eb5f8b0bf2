"""Auxiliary outputs switched and proven, the door, and whether the probe touches nothing.

What is seen is asked of the controller (M119). Its reports carry no checksum, so a word that would
stop everything is believed only when it comes again and again, and the right one at once: no damage
of a single character makes the one out of the other.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from hostctl.config.machine import Machine as MachineFile
from hostctl.config.parts.outputs import InputReads, Output
from hostctl.errors import MachineError
from hostctl.machine.controller.orders import Orders
from hostctl.machine.signals.inputs import inputs_in

LOOKS = 4
APART_S = 0.25
"""After an order so many looks, and between them this: an arm takes half a second to come out
(common practice, no source)."""

STAYS = "The head stays where it is."


class DoorOpen(MachineError):
    """The door is open. Nothing was sent; the position is still known."""


class NotProven(MachineError):
    """An output's input does not say that it was done. The position is still known."""


class ProbeNotFree(MachineError):
    """The probe is triggered though it touches nothing. The position is still known."""


@dataclass(frozen=True, slots=True)
class _Wanted:
    """An input, its word, and what is wrong where it says another."""

    input: str
    word: str
    key: str
    kind: type[MachineError]
    what: str
    next_step: str


class Signals:
    """Those of one machine. Raises LinkError too, as orders do."""

    def __init__(self, file: MachineFile, orders: Orders) -> None:
        self._file = file
        self._orders = orders

    async def inputs(self) -> Mapping[str, str]:
        """What the controller says of its inputs: name to word, both in lower case, as reported.

        One may be missing that was damaged on the way: ask again.
        """
        return inputs_in((await self._orders.do("M119")).texts)

    async def check_door(self) -> None:
        """Raises DoorOpen while it is; nothing is asked where the file names no door."""
        await self._check(self._door())

    async def check_before_touch(self, proven: str | None) -> None:
        """Door, probe and the output `proven` in one look. Raises what is wrong first."""
        output = [] if proven is None else self._proof(self.output(proven))
        await self._check([*self._door(), *output, *self._free_probe()])

    def output(self, name: str) -> Output:
        """The output of this name. Raises MachineError where the file has none."""
        for output in self._file.outputs:
            if output.name == name:
                return output
        known = ", ".join(output.name for output in self._file.outputs) or "none"
        raise MachineError(
            self._orders.where, f"it has no output '{name}'", f"Those of its file: {known}."
        )

    async def switch(self, name: str) -> None:
        """Have this output done, wait until it is, and prove it. Raises NotProven."""
        output = self.output(name)
        await self._orders.do(output.order)
        await self._orders.do("M400")
        await self._check(self._proof(output))

    async def prove(self, name: str) -> None:
        """Raises NotProven where its input does not say so now; nothing is asked without one."""
        await self._check(self._proof(self.output(name)))

    # ------------------------------------------------------------ inside

    async def _check(self, wanted: Iterable[_Wanted]) -> None:
        """Each of them in one look, those that are not right again after a moment."""
        left, looks = list(wanted), 0
        while left:
            said = await self.inputs()
            left = [each for each in left if said.get(each.input) != each.word]
            looks += 1
            if left and looks == LOOKS:
                raise self._wrong(left[0], said)
            if left:
                await self._orders.do(f"G4 P{APART_S * 1000:.0f}", takes_s=APART_S)

    def _wrong(self, wanted: _Wanted, said: Mapping[str, str]) -> MachineError:
        word = said.get(wanted.input)
        if word is None:
            told = ", ".join(sorted(said)) or "none"
            return MachineError(
                self._orders.where,
                f"it reports no input '{wanted.input}', of these: {told}",
                f"Mend '{wanted.key}' in the machine file. {STAYS}",
            )
        says = f"input '{wanted.input}' says '{word}', not '{wanted.word}'"
        return wanted.kind(self._orders.where, f"{wanted.what}: {says}", wanted.next_step)

    def _door(self) -> list[_Wanted]:
        door = self._file.door
        if door is None:
            return []
        shut = f"Shut it, with hands and tools out. {STAYS}"
        return [_wanted(door.input, door.shut, "door.input", DoorOpen, "the door is open", shut)]

    def _free_probe(self) -> list[_Wanted]:
        free = None if self._file.probe is None else self._file.probe.free_when
        if free is None:
            return []
        what = "the probe is triggered though it touches nothing"
        see = f"See that it moves freely and is not stuck, and look at its plug. {STAYS}"
        return [_wanted(free.input, free.reads, "probe.free_when", ProbeNotFree, what, see)]

    def _proof(self, output: Output) -> list[_Wanted]:
        proof: InputReads | None = output.proven_by
        if proof is None:
            return []
        what = f"output '{output.name}' ({output.order}) is not proven to be done"
        see = f"See that what it moves comes all the way, and look at its plug. {STAYS}"
        key = f"outputs.{self._file.outputs.index(output) + 1}.proven_by"
        return [_wanted(proof.input, proof.reads, key, NotProven, what, see)]


def _wanted(
    name: str, word: str, key: str, kind: type[MachineError], what: str, next_step: str
) -> _Wanted:
    """Names and words in lower case, as `inputs` gives them."""
    return _Wanted(_tidy(name), _tidy(word), key, kind, what, next_step)


def _tidy(text: str) -> str:
    return " ".join(text.lower().split())
