"""What is seen in a picture of some width: each mark's box in px."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree as Xml

from hostctl.report.document.picture import Picture

PART_OF_SIZE = 0.78  # of the letters' size lies above their foot


@dataclass(frozen=True)
class Box:
    """Where something lies. tag: what it is; words: what it says."""

    left: float
    top: float
    right: float
    bottom: float
    tag: str
    words: str = ""
    look: str = ""

    def hits(self, other: "Box") -> bool:
        return (
            self.left < other.right
            and other.left < self.right
            and self.top < other.bottom
            and other.top < self.bottom
        )


def drawn(picture: Picture) -> Xml.Element:
    """The picture as a tree. Raises ParseError where it is no XML."""
    return Xml.fromstring(f"<svg>{picture.marks}</svg>")


def boxes(picture: Picture, wide: float) -> list[Box]:
    """Every mark, with letters as wide as those of a common sans-serif font."""
    return [box for mark in drawn(picture) for box in _boxes(mark, wide)]


def words(picture: Picture, wide: float) -> list[Box]:
    return [box for box in boxes(picture, wide) if box.tag == "text"]


def _boxes(mark: Xml.Element, wide: float) -> Iterator[Box]:
    def px(name: str) -> float:
        value = mark.get(name, "0")
        return float(value[:-1]) / 100 * wide if value.endswith("%") else float(value)

    look = mark.get("class", "")
    match mark.tag:
        case "text":
            yield _letters(mark, px)
        case "circle":
            x, y, r = px("cx"), px("cy"), px("r")
            yield Box(x - r, y - r, x + r, y + r, mark.tag, look=look)
        case "line":
            xs, ys = sorted((px("x1"), px("x2"))), sorted((px("y1"), px("y2")))
            yield Box(xs[0], ys[0], xs[1], ys[1], mark.tag)
        case "rect":
            yield Box(
                px("x"), px("y"), px("x") + px("width"), px("y") + px("height"), mark.tag, look=look
            )
        case "svg" if "viewBox" in mark.attrib:
            _, _, across, _ = map(float, mark.attrib["viewBox"].split())
            yield from _columns(mark, wide / across)
        case "svg":
            yield _sign(mark[0], px("x"), px("y"))
        case tag:
            raise AssertionError(f"what is a {tag}?")


def _letters(mark: Xml.Element, px) -> Box:
    said = mark.text or ""
    heavy = 1.08 if mark.get("font-weight") else 1.0
    size = px("font-size")
    long = sum(0.3 if sign in " .,:;il|'" else 0.62 for sign in said) * size * heavy
    shift = {"start": 0.0, "middle": long / 2, "end": long}[mark.get("text-anchor", "start")]
    left, y = px("x") + px("dx") - shift, px("y")
    return Box(left, y - PART_OF_SIZE * size, left + long, y + 0.22 * size, "text", said)


def _columns(mark: Xml.Element, stretched: float) -> Iterator[Box]:
    for left, top, right, foot in re.findall(
        r"M(\d+) ([\d.]+)H(\d+)V([\d.]+)H\d+z", mark[0].attrib["d"]
    ):
        yield Box(
            stretched * float(left),
            float(top),
            stretched * float(right),
            float(foot),
            "column",
            look=mark[0].get("class", ""),
        )


def _sign(inner: Xml.Element, x: float, y: float) -> Box:
    look = inner.get("class", "")
    if inner.tag == "circle":
        at, r = x + float(inner.attrib["cx"]), float(inner.attrib["r"])
        return Box(at - r, y - r, at + r, y + r, "sign", look=look)
    start = re.match(r"M(-?[\d.]+)", inner.attrib["d"])
    at = x + float(start[1]) if start else x
    tag = "arrow" if "l" in inner.attrib["d"] else "sign"
    return Box(at, y - 6, at, y + 6, tag, look=look)
