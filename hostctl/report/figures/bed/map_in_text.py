"""A bed map on a terminal: heights as numbers where they are, and letters for screws."""

from collections.abc import Iterator

from hostctl.report.figures.bed.plan import Plan
from hostctl.report.figures.pen import terminal

ABOVE, BELOW, LEVEL = "●", "○", "·"
COLUMNS = 68
LEAST_LINES, MOST_LINES = 7, 19
ASPECT = 0.45  # a sign is so much wider than high
TRIED = (0, 1, -1, 2, -2)  # so many lines off, a number may stand


class _Sheet:
    """Lines of signs on which words are put where there is room."""

    def __init__(self, lines: int) -> None:
        self._signs = [[" "] * COLUMNS for _ in range(lines)]

    def put(self, words: str, column: int, line: int) -> bool:
        """Around that column, a line off at most twice; False where there is no room."""
        start = min(max(column - len(words) // 2, 0), COLUMNS - len(words))
        for off in TRIED:
            if self._is_free(start, line + off, len(words)):
                self._signs[line + off][start : start + len(words)] = words
                return True
        return False

    def lines(self) -> Iterator[str]:
        """As they stand."""
        yield from ("".join(line) for line in self._signs)

    def _is_free(self, start: int, line: int, count: int) -> bool:
        if not 0 <= line < len(self._signs):
            return False
        return not "".join(self._signs[line][max(start - 1, 0) : start + count + 1]).strip()


def text_of(bed: Plan) -> str:
    """The whole figure, at most as wide as a terminal."""
    left, right, front, back = bed.corners()
    wide, deep = max(right - left, 1e-9), max(back - front, 1e-9)
    lines = min(max(round(COLUMNS * ASPECT * deep / wide), LEAST_LINES), MOST_LINES)
    sheet, missing = _Sheet(lines), 0

    def place(x_mm: float, y_mm: float) -> tuple[int, int]:
        across = round((x_mm - left) / wide * (COLUMNS - 1))
        return across, round((back - y_mm) / deep * (lines - 1))

    for spot in bed.spots:
        sign = LEVEL if bed.is_level(spot) else ABOVE if spot.height_mm > 0 else BELOW
        number = bed.written(spot.height_mm)
        missing += not sheet.put(f"{sign}{number}", *place(spot.x_mm, spot.y_mm))
    for letter, screw in bed.called():
        sheet.put(f"[{letter}]", *place(screw.x_mm, screw.y_mm))
    return "\n".join([*_framed(sheet), *_said(bed, missing)])


def _framed(sheet: _Sheet) -> Iterator[str]:
    yield f"┌{' back ':─^{COLUMNS + 2}}┐"
    yield from (f"│ {line} │" for line in sheet.lines())
    yield f"└{' front ':─^{COLUMNS + 2}}┘"


def _said(bed: Plan, missing: int) -> Iterator[str]:
    says = f"Seen from above; mm from {bed.about}: {ABOVE} above, {BELOW} below."
    if missing:
        says += f" {missing} more stand too close to others."
    yield from terminal.broken(says, terminal.WIDTH)
    for letters, says in bed.said():
        said = terminal.broken(says, terminal.WIDTH - 3 - len(letters))
        yield f"[{letters}] {said[0]}"
        yield from (f"    {line}" for line in said[1:])
