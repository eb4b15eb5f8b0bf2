"""One line as the board got it: number, command, checksum, and whether it may be obeyed."""

import re
from dataclasses import dataclass
from functools import reduce
from operator import xor

_NUMBERED = re.compile(rb"N(\d+)\s*([^*]*)")
_WORD = re.compile(r"([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """A line that is not obeyed; the board asks for the one it expects."""

    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """A line that is obeyed: `code` and its words. `number` None: it came without one."""

    number: int | None
    text: str
    damaged: bool  # a byte was flipped on the way, and the checksum did not show it

    @property
    def code(self) -> str:
        """The first word, e.g. `G1`."""
        return self.text.partition(" ")[0]

    def words(self) -> dict[str, float | None]:
        """The letters after the code and their numbers; None where a letter stands alone."""
        rest = self.text.partition(" ")[2]
        return {letter: float(value) if value else None for letter, value in _WORD.findall(rest)}

    def number_of(self, letter: str) -> float | None:
        """The number behind one letter; None when it is not there."""
        return self.words().get(letter)


def understand(line: bytes, *, damaged: bool, last_number: int) -> Command | Refusal | None:
    """What to do with a line (its end taken off); None: nothing, it was empty.

    A line with number and checksum must have both right; one with only either is refused; one
    with neither is taken as it is. `M110` may come with any number: it sets it.
    """
    line = line.split(b";")[0].strip()
    if not line:
        return None
    body, star, sum_text = line.partition(b"*")
    if star and not _checks(body, sum_text):
        return Refusal(why="the checksum does not match")
    found = _NUMBERED.fullmatch(body)
    if bool(found) != bool(star):
        return Refusal(why="number and checksum belong together")
    number = int(found[1]) if found else None
    text = (found[2] if found else body).decode("ascii", "replace").strip()
    command = Command(number=number, text=text, damaged=damaged)
    if number is not None and number != last_number + 1 and command.code != "M110":
        return Refusal(why=f"line {number} is not the one expected")
    return command


def _checks(body: bytes, sum_text: bytes) -> bool:
    return sum_text.strip().isdigit() and int(sum_text) == reduce(xor, body, 0)
