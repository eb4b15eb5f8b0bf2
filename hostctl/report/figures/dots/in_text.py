"""Rows of dots in a terminal: on top of each other, or as profiles where they are many."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.lettering import cells, in_cells
from hostctl.report.figures.pen.scale import Scale

MOST_STACKED = 6  # dots above each other in a terminal; beyond, a row is a profile
MOST_LINES = 24  # of all stacks, so that a picture fits a terminal
MOST_TALL = 12  # rows; the profiles of more are one line high
EIGHTHS = " ▁▂▃▄▅▆▇█"
DOT, OUTSIDE = "●", "◆"
DOUBTED, DOUBTED_OUTSIDE = "○", "◇"
GROUND, LIMIT = "┄", "┊"  # where nothing was read: below a row, and at the limits


class Heap(NamedTuple):
    """So many readings that share a column of a terminal."""

    inside: int = 0
    doubted: int = 0
    outside: int = 0
    doubted_outside: int = 0

    def __add__(self, other: "Heap") -> "Heap":  # type: ignore[override]
        return Heap(*(mine + its for mine, its in zip(self, other, strict=True)))

    @property
    def signs(self) -> str:
        """One for each, from the lowest up."""
        kinds = zip((DOT, DOUBTED, OUTSIDE, DOUBTED_OUTSIDE), self, strict=True)
        return "".join(sign * count for sign, count in kinds)


Heaps = Mapping[int, Heap]


def height_of_profiles(rows: int) -> int:
    """So many lines each profile of a picture with so many rows has."""
    return 1 if rows > MOST_TALL else 2


def heaps_of(dots: Iterable[Dots], scale: Scale, width: int) -> Heaps:
    """How many fall into each column of a terminal."""
    found: dict[int, Heap] = {}
    for one in dots:
        at = terminal.column(scale, one.value_mm, width)
        kind = (
            ("doubted_outside" if one.doubted else "outside")
            if one.outside
            else ("doubted" if one.doubted else "inside")
        )
        found[at] = found.get(at, Heap()) + Heap(**{kind: one.count})
    return found


def can_be_stacked(rows: Sequence[Heaps]) -> bool:
    """Whether every reading of all rows can have a sign of its own."""
    tallest = [_tallest(row) for row in rows]
    return max(tallest) <= MOST_STACKED and sum(tallest) <= MOST_LINES


def stacked_lines(heaps: Heaps, width: int) -> list[str]:
    """As many lines as the tallest stack has dots; what lies outside on top."""
    stacks = [heaps.get(at, Heap()).signs for at in range(width)]
    return [
        "".join(stack[level] if level < len(stack) else " " for stack in stacks)
        for level in reversed(range(_tallest(heaps)))
    ]


def profile(heaps: Heaps, width: int, tall: int) -> list[str]:
    """So many lines: how high each column is beside the tallest; outside or doubted by
    its own sign."""
    tallest = _tallest(heaps)
    lines = [[" "] * width for _ in range(tall)]
    for at, heap in heaps.items():
        eighths = -(-8 * tall * sum(heap) // tallest)
        for level, line in enumerate(reversed(lines)):
            line[at] = EIGHTHS[min(max(eighths - 8 * level, 0), 8)]
        if heap.outside or heap.doubted_outside:
            lines[-1][at] = OUTSIDE
        elif heap.doubted:
            lines[-1][at] = DOUBTED
    return ["".join(line) for line in lines]


def grounded(drawn: Sequence[str], scale: Scale, limits: Sequence[float]) -> list[str]:
    """The lines of a row with what stands behind it: its ground, and the limits."""
    lines = [*drawn[:-1], drawn[-1].replace(" ", GROUND)]
    for end in limits:
        at = terminal.column(scale, end, len(drawn[-1]))
        lines = [
            line[:at] + LIMIT + line[at + 1 :] if line[at] in (" ", GROUND) else line
            for line in lines
        ]
    return lines


def beside(drawn: Sequence[str], row: DotRow, left: int, notes: int) -> Iterator[str]:
    """The lines of a row with its label and note; its head at their top, where it has room."""
    if row.head and (len(drawn) == 1 or cells(row.head) > left):
        yield in_cells(row.head, terminal.WIDTH).rstrip()
        names = ["" for _ in drawn]
    else:
        names = [row.head, *("" for _ in drawn[1:])]
    names[-1] = row.label
    for name, line in zip(names[:-1], drawn[:-1], strict=True):
        yield terminal.labelled(name, left, line)
    yield terminal.labelled(names[-1], left, drawn[-1], in_cells(row.note, notes))


def _tallest(heaps: Heaps) -> int:
    return max(1, max(map(sum, heaps.values()), default=1))
