"""What a bed map shows: heights of points, turns of screws, and where the nozzle may go."""

from collections.abc import Iterator
from dataclasses import dataclass
from string import ascii_uppercase

from hostctl.report.document.significant import in_mm

MOST_SCREWS = len(ascii_uppercase)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A point that was measured. height_mm: above what the map is about, below it negative."""

    name: str
    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewSpot:
    """A screw. turn_deg: 0 where it stays; else how far, clockwise positive, as it is seen from
    where one stands.  words: the same as a sentence has it, or why it stays; empty
    where nothing was advised."""

    name: str
    x_mm: float
    y_mm: float
    turn_deg: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """Where the nozzle may go."""

    left_mm: float
    right_mm: float
    front_mm: float
    back_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """At least one spot. about: what heights are counted from, as "the mean height".

    outline: None where it is not known.  step_mm: to which heights are written.
    from_below: whether some screw is turned by somebody who sees it from below.
    """

    spots: tuple[Spot, ...]
    screws: tuple[ScrewSpot, ...]
    outline: Outline | None
    about: str
    step_mm: float
    from_below: bool = False

    def called(self) -> Iterator[tuple[str, ScrewSpot]]:
        """Each screw with the letter that stands for it in the plan."""
        yield from zip(ascii_uppercase, self.screws, strict=False)

    def said(self) -> Iterator[tuple[str, str]]:
        """Letters and words of the screws; of all at once where none is turned."""
        if any(screw.words for screw in self.screws):
            for letter, screw in self.called():
                yield letter, f"{screw.name}: {words(screw)}"
        elif self.screws:
            last = ascii_uppercase[min(len(self.screws), MOST_SCREWS) - 1]
            letters = "A" if last == "A" else f"A to {last}"
            yield letters, f"{', '.join(one.name for one in self.screws)}: none is to be turned"

    def written(self, height_mm: float) -> str:
        """A height, with its sign."""
        return in_mm(height_mm, self.step_mm)

    def is_level(self, spot: Spot) -> bool:
        """Whether its height is written as 0."""
        return not self.written(spot.height_mm).strip("+\N{MINUS SIGN}0.")

    @property
    def furthest_mm(self) -> float:
        """Of all heights, whichever way."""
        return max(abs(spot.height_mm) for spot in self.spots)

    def corners(self) -> tuple[float, float, float, float]:
        """Left, right, front, back of all that is drawn."""
        places = [(one.x_mm, one.y_mm) for one in self.spots]
        places += [(one.x_mm, one.y_mm) for one in self.screws]
        if (edge := self.outline) is not None:
            places += [(edge.left_mm, edge.front_mm), (edge.right_mm, edge.back_mm)]
        xs, ys = zip(*places, strict=True)
        return min(xs), max(xs), min(ys), max(ys)


def words(screw: ScrewSpot) -> str:
    """What is to be done with it; that nothing is, too."""
    return screw.words or "stays as it is"
