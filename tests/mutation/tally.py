"""What came of the alterations of one room."""

from collections.abc import Iterator
from typing import Literal, get_args

from alterations import Alteration

Judgement = Literal["no effect", "words or timing"]
Named = tuple[str, str, str]
BETWEEN = " :: "


def judged_by_hand(text: str) -> dict[Named, Judgement]:
    """The file of judgements: judgement, file, source line, alteration; `#` begins a comment.

    Raises RuntimeError for a line that is none of that.
    """
    judged: dict[Named, Judgement] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip() and not line.startswith("#"):
            judgement, *named = line.split(BETWEEN)
            if judgement not in get_args(Judgement) or len(named) != 3:
                raise RuntimeError(f"judged.txt, line {number}: not understood")
            judged[named[0], named[1], named[2]] = judgement  # type: ignore[assignment]
    return judged


class Tally:
    """Counts what was caught. What survived and was judged by hand before is not tried again."""

    def __init__(self, room: str, judged: dict[Named, Judgement]) -> None:
        self.room = room
        self._judged = judged
        self._counts: dict[Judgement, int] = dict.fromkeys(get_args(Judgement), 0)
        self._caught = 0
        self._survived: list[Alteration] = []

    def is_judged(self, one: Alteration) -> bool:
        """Whether somebody has judged it not to matter; it is then counted as such."""
        judgement = self._judged.get(one.named)
        if judgement is not None:
            self._counts[judgement] += 1
        return judgement is not None

    def note(self, one: Alteration, *, caught: bool) -> None:
        """One more was tried."""
        if caught:
            self._caught += 1
        else:
            self._survived.append(one)

    @property
    def now(self) -> str:
        """In a few words, as it goes on."""
        return f"{self._caught} caught, {len(self._survived)} survived"

    @staticmethod
    def heading() -> str:
        """Of the table; a tally as text is one row of it."""
        heads = ("room", "made", *get_args(Judgement), "caught", "survived", "caught of the rest")
        return f"| {' | '.join(heads)} |\n|{' --- |' * len(heads)}"

    def __str__(self) -> str:
        tried = self._caught + len(self._survived)
        counts = [sum(self._counts.values()) + tried, *self._counts.values()]
        share = f"{self._caught / tried:.0%}" if tried else "none"
        cells = [self.room, *map(str, counts), self._caught, len(self._survived), share]
        return f"| {' | '.join(map(str, cells))} |"

    def survivors(self) -> Iterator[str]:
        """Each one where it is, and as a line of the file of judgements."""
        for one in self._survived:
            yield f"hostctl/{one.file}:{one.line}"
            yield f"    {BETWEEN.join(('judgement', *one.named))}"
