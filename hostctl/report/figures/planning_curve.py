"""A curve of chances, drawn with block characters: one column a number of trials."""

from dataclasses import dataclass
from itertools import pairwise
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture
from hostctl.report.document.significant import chance as asked_for
from hostctl.report.figures.pen import terminal
from hostctl.report.figures.pen.ink import FAINT, PALE, Ink, Shape
from hostctl.report.figures.pen.lettering import NARROW_PX, cells, plain, width_px
from hostctl.report.figures.pen.scale import BETWEEN_PX, Scale
from hostctl.report.figures.pen.written import LINE_PX, as_sign, height, legend, paragraph

EIGHTHS = " ▁▂▃▄▅▆▇█"
HEIGHT = 10
HIGH_PX = 190.0
FIRST, LAST = 0.16, 0.97  # of the width; left of it stand the chances
_MARGIN = 7  # "100 % ┤"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanningCurve:
    """The chance of success at each number of trials, with the goal and the answer marked.

    trials: at least one, in rising order; chances: one each, 0 to 1. counted: what is counted along
    the foot.
    """

    kind: ClassVar[str] = "planning curve"
    trials: tuple[int, ...]
    chances: tuple[float, ...]
    goal: float
    answer: int
    counted: str

    def in_text(self) -> str:
        """Ten rows from 0 to 100 %, and the foot."""
        goal_row = min(HEIGHT - 1, int(self.goal * HEIGHT + 1e-9))
        labels = {HEIGHT - 1: "100 %", goal_row: f"{100 * self.goal:.0f} %"}
        rows = [
            f"{labels.get(level, ''):>5} ┤{self._row(level, level == goal_row)}".rstrip()
            for level in reversed(range(HEIGHT))
        ]
        column = min(
            range(len(self.trials)), key=lambda index: abs(self.trials[index] - self.answer)
        )
        axis = "─" * column + "┴" + "─" * (len(self.trials) - column - 1)
        return "\n".join([*rows, f"{'0 %':>5} └{axis}", self._ticks(column)])

    def in_svg(self) -> Picture:
        """The chance upwards, trials to the right; the answer stands out."""
        ink, rise = Ink(), Scale(0.0, 1.0, first=0.0, last=1.0)
        along = Scale(self.trials[0] - 0.5, self.trials[-1] + 0.5, first=FIRST, last=LAST)
        top, bottom = float(LINE_PX), LINE_PX + HIGH_PX
        for level in (0.0, 0.5, 1.0):
            y = height(rise, level, top, bottom)
            ink.line((0, y), (1, y), weight=PALE if level == 0 else FAINT)
            if abs(level - self.goal) * HIGH_PX > LINE_PX:
                ink.text(0, y - 3, asked_for(level))
        goal = height(rise, self.goal, top, bottom)
        ink.line((0, goal), (1, goal), dashed=True)
        ink.text(0, goal - 3, asked_for(self.goal), bold=True)
        self._curve(ink, rise, along, (top, bottom))
        y = self._feet(ink, along, bottom)
        y = paragraph(ink, y, self.counted)
        words = f"{self.answer} are enough for {asked_for(self.goal)}"
        items = [(as_sign(Shape.DIAMOND, accent=True), words)] if self._answered() else []
        return ink.picture(legend(ink, y, items) + 2)

    def numbers(self) -> Table:
        """Each chance, and where the goal is reached."""
        return Table(
            columns=(
                Column(head=self.counted, is_number=True),
                Column(head="chance", unit="%", is_number=True),
                Column(head=f"goal {asked_for(self.goal)}"),
            ),
            rows=tuple(
                (str(n), f"{100 * chance:.1f}", "enough" if n == self.answer else "")
                for n, chance in zip(self.trials, self.chances, strict=True)
            ),
        )

    def _answered(self) -> bool:
        return self.trials[0] <= self.answer <= self.trials[-1]

    def _curve(self, ink: Ink, rise: Scale, along: Scale, high: tuple[float, float]) -> None:
        places = [
            (along.share(n), height(rise, chance, *high))
            for n, chance in zip(self.trials, self.chances, strict=True)
        ]
        for start, end in pairwise(places):
            ink.line(start, end, width=2)
        for place in places:
            ink.sign(Shape.DOT, *place, 1.6)
        if self._answered():
            nearest = min(self.trials, key=lambda n: abs(n - self.answer))
            x, y = places[self.trials.index(nearest)]
            ink.line((x, y), (x, high[1]), weight=PALE)
            ink.sign(Shape.DIAMOND, x, y, 5.5, accent=True)

    def _feet(self, ink: Ink, along: Scale, y: float) -> float:
        """The answer, then the ends, where there is room beside it."""
        taken: list[tuple[float, float]] = []
        answer = [self.answer] if self._answered() else []
        for n in (*answer, self.trials[0], self.trials[-1]):
            half = (width_px(str(n), bold=True) + BETWEEN_PX) / 2 / NARROW_PX
            left, right = along.share(n) - half, along.share(n) + half
            if all(right <= start or left >= end for start, end in taken):
                taken.append((left, right))
                ink.line((along.share(n), y), (along.share(n), y + 5))
                ink.text(
                    along.share(n), y + LINE_PX + 2, str(n), anchor="middle", bold=n == self.answer
                )
        return y + LINE_PX + 5

    def _ticks(self, column: int) -> str:
        """The first number, the answer and the last, each under its column where there is room."""
        first, answer, last = map(str, (self.trials[0], self.answer, self.trials[-1]))
        line = f"{'':{_MARGIN}}{first}"
        middle = _MARGIN + column - len(answer) // 2
        if middle > len(line):
            line = f"{line:<{middle}}{answer}"
        end = _MARGIN + len(self.trials) - len(last)
        line = f"{line:<{end}}{last}" if end > len(line) else line
        counted = plain(self.counted)
        room = terminal.WIDTH - len(line) - 2
        return f"{line}  {counted}" if cells(counted) <= room else self._below(line)

    def _below(self, line: str) -> str:
        """The foot with what is counted on lines of its own."""
        said = terminal.broken(self.counted, terminal.WIDTH - _MARGIN)
        return "\n".join([line, *(f"{'':{_MARGIN}}{each}" for each in said)])

    def _row(self, level: int, is_goal: bool) -> str:
        empty = "┄" if is_goal else " "
        cells = (EIGHTHS[_eighths(chance, level)] for chance in self.chances)
        return "".join(empty if cell == " " else cell for cell in cells)


def _eighths(chance: float, level: int) -> int:
    """How much of the row `level` (0 lowest) this chance fills, in eighths."""
    return min(max(round(8 * (chance * HEIGHT - level)), 0), 8)
