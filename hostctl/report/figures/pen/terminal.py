"""What the pictures of a terminal share: at most 79 columns, a scale at the foot."""

from collections.abc import Sequence
from math import ceil

from hostctl.report.figures.pen.lettering import cells, in_cells, plain
from hostctl.report.figures.pen.scale import Scale

WIDTH = 79
MOST_LABEL = 24
LEAST_PLOT = 34  # columns, which longer labels leave to the picture
LEAST_BESIDE = 28  # which notes leave to it


def label_width(labels: Sequence[str], most: int = MOST_LABEL) -> int:
    """As wide as the widest, up to a limit."""
    return min(max((cells(plain(label)) for label in labels), default=0), most)


def room_for_labels(beside: int) -> int:
    """How wide labels may be where so many columns are taken at the other side."""
    return max(MOST_LABEL, WIDTH - LEAST_PLOT - beside - 4)


def room_for_notes(labels: int) -> int:
    """How wide notes may be at the right of labels and a picture."""
    return max(MOST_LABEL, WIDTH - LEAST_BESIDE - labels - 4)


def on_columns(scale: Scale, step: float, most: int) -> tuple[Scale, int]:
    """The scale, made so long that each step takes whole columns, or each column whole steps: else
    some columns would stay empty beside others that are full. And how many columns that makes."""
    steps = max(round((scale.high - scale.low) / step), 1)
    wide = max((most - 1) // steps, 1)
    together = ceil(steps / (most - 1))
    count = ceil(steps / together)
    return scale._replace(high=scale.low + count * together * step), count * wide + 1


def column(scale: Scale, value: float, width: int) -> int:
    """In which of so many columns a value lies, from 0; the scale has no edges here."""
    part = (scale.share(value) - scale.first) / (scale.last - scale.first)
    return round(part * (width - 1))


def labelled(label: str, width: int, drawn: str, note: str = "") -> str:
    """A line of the picture with what stands to its left and right."""
    return f"{in_cells(label, width)}  {drawn}  {plain(note)}".rstrip()


def foot(
    scale: Scale,
    width: int,
    marks: Sequence[tuple[float, str]],
    strong: tuple[float, float] | None = None,
) -> tuple[str, str]:
    """The scale as a line, strong between two values, and below it its labels.

    marks: values and labels; the first ones stay where there is no room for all.
    """
    line = ["─"] * width
    if strong is not None:
        low, high = (column(scale, end, width) for end in strong)
        line[low : high + 1] = "━" * (high + 1 - low)
    below = [" "] * width
    for value, label in marks:
        at = column(scale, value, width)
        start = min(max(at - len(label) // 2, 0), width - len(label))
        if (
            scale.holds(value)
            and not "".join(below[max(start - 1, 0) : start + len(label) + 1]).strip()
        ):
            line[at] = "┴"
            below[start : start + len(label)] = label
    return "".join(line), "".join(below).rstrip()


def broken(words: str, width: int) -> list[str]:
    """Words over as many lines as they need."""
    out, line = [], ""
    for word in plain(words).split():
        if line and cells(f"{line} {word}") > width:
            out.append(line)
            line = ""
        line = f"{line} {word}".strip()
    return [in_cells(one, width).rstrip() for one in (*out, line) if one]
