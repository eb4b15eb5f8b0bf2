"""A curve of chances drawn with block characters: one column a number of trials."""

from collections.abc import Sequence

from hostctl.metrology.claims.planning import PowerPoint

EIGHTHS = " ▁▂▃▄▅▆▇█"
HEIGHT = 10
WIDEST = 54
_MARGIN = 7  # "100 % ┤"


def spread_out(last: int, *, least: int = 2) -> list[int]:
    """Numbers of trials from `least` to `last`, evenly spaced, as many as there are columns."""
    columns = min(WIDEST, last - least + 1)
    if columns < 2:
        return [least]
    return [least + round(i * (last - least) / (columns - 1)) for i in range(columns)]


def curve(points: Sequence[PowerPoint], *, goal: float, answer: int, what: str) -> str:
    """The chance at each number of trials, 0 to 100 %, with the goal and the answer marked.

    points: at most WIDEST, in rising order. what: names what is counted along the foot.
    """
    goal_row = min(HEIGHT - 1, int(goal * HEIGHT + 1e-9))
    labels = {HEIGHT - 1: "100 %", goal_row: f"{100 * goal:.0f} %"}
    rows = [
        f"{labels.get(level, ''):>5} ┤{_row(points, level, level == goal_row)}".rstrip()
        for level in reversed(range(HEIGHT))
    ]
    column = min(range(len(points)), key=lambda index: abs(points[index].n - answer))
    axis = "─" * column + "┴" + "─" * (len(points) - column - 1)
    return "\n".join([*rows, f"{'0 %':>5} └{axis}", _ticks(points, column, answer, what)])


def _ticks(points: Sequence[PowerPoint], column: int, answer: int, what: str) -> str:
    """The first number, the answer and the last, each under its column where there is room."""
    first, last = str(points[0].n), str(points[-1].n)
    line = f"{'':{_MARGIN}}{first}"
    middle = _MARGIN + column - len(str(answer)) // 2
    if middle > len(line):
        line = f"{line:<{middle}}{answer}"
    end = _MARGIN + len(points) - len(last)
    return f"{line:<{end}}{last}  {what}" if end > len(line) else f"{line}  {what}"


def _row(points: Sequence[PowerPoint], level: int, is_goal: bool) -> str:
    empty = "┄" if is_goal else " "
    cells = (EIGHTHS[_eighths(point.chance, level)] for point in points)
    return "".join(empty if cell == " " else cell for cell in cells)


def _eighths(chance: float, level: int) -> int:
    """How much of the row `level` (0 lowest) this chance fills, in eighths."""
    return min(max(round(8 * (chance * HEIGHT - level)), 0), 8)
