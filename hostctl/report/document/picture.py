"""A drawing as vector marks, which fit a phone, a screen and paper alike."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """SVG elements. Their x is in per cent of the width, their y in px from the top.

    So the same marks fit any width: letters keep their size and dots stay round. All ink is
    `currentColor`, told apart by shape and weight; the class `accent` marks what to look at first.
    cuts: where paper that is too short for all of it may go on, in px from the top.
    """

    height_px: int
    marks: str
    cuts: tuple[int, ...] = ()

    def pieces(self, most_px: int) -> list[tuple[int, int]]:
        """From where to where, so that each is at most so high, as far as the cuts allow."""
        pieces, start = [], 0
        ends = [*self.cuts, self.height_px]
        while start < self.height_px:
            later = [end for end in ends if end > start]
            end = max((end for end in later if end - start <= most_px), default=later[0])
            pieces.append((start, end))
            start = end
        return pieces
