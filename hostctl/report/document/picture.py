"""A drawing as vector marks, which fit a phone, a screen and paper alike."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """SVG elements. Their x is in per cent of the width, their y in px from the top.

    So the same marks fit any width: letters keep their size and dots stay round. All ink is
    `currentColor`, told apart by shape and weight; the class `accent` marks what to look at first.
    """

    height_px: int
    marks: str
