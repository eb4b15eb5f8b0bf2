"""A curve of chances, drawn with block characters: one column a number of trials."""

from dataclasses import dataclass
from typing import ClassVar

from hostctl.report.document.blocks import Column, Table
from hostctl.report.document.picture import Picture

EIGHTHS = " ▁▂▃▄▅▆▇█"
HEIGHT = 10
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
        """The chance upwards, trials to the right."""
        return Picture(height_px=20, marks="")

    def numbers(self) -> Table:
        """Each chance."""
        return Table(
            columns=(
                Column(head=self.counted, is_number=True),
                Column(head="chance", unit="%", is_number=True),
            ),
            rows=tuple(
                (str(n), f"{100 * chance:.0f}")
                for n, chance in zip(self.trials, self.chances, strict=True)
            ),
        )

    def _ticks(self, column: int) -> str:
        """The first number, the answer and the last, each under its column where there is room."""
        first, answer, last = map(str, (self.trials[0], self.answer, self.trials[-1]))
        line = f"{'':{_MARGIN}}{first}"
        middle = _MARGIN + column - len(answer) // 2
        if middle > len(line):
            line = f"{line:<{middle}}{answer}"
        end = _MARGIN + len(self.trials) - len(last)
        return (
            f"{line:<{end}}{last}  {self.counted}" if end > len(line) else f"{line}  {self.counted}"
        )

    def _row(self, level: int, is_goal: bool) -> str:
        empty = "┄" if is_goal else " "
        cells = (EIGHTHS[_eighths(chance, level)] for chance in self.chances)
        return "".join(empty if cell == " " else cell for cell in cells)


def _eighths(chance: float, level: int) -> int:
    """How much of the row `level` (0 lowest) this chance fills, in eighths."""
    return min(max(round(8 * (chance * HEIGHT - level)), 0), 8)
