"""One figure as a file of its own, in vectors and in pixels."""

import struct
import sys
import zlib
from xml.etree import ElementTree as Xml

import pytest
import resvg_py

from hostctl.errors import HostctlError
from hostctl.report.document.blocks import Figure
from hostctl.report.figures.alone import alone, as_png
from hostctl.report.figures.share_bars import ShareBar, ShareBars

SVG = "{http://www.w3.org/2000/svg}"


def a_figure(bars: int = 1, says: str = "Half of it is the rig's.") -> Figure:
    bar = ShareBar(label="light & <b>", shares=(0.5, 0.5))
    drawing = ShareBars(parts=("rig", "hand"), bars=(bar,) * bars)
    return Figure(drawing=drawing, says=says, name="shares")


def pixels(png: bytes) -> tuple[int, int, list[bytes]]:
    """Width, height and rows of RGBA. PNG specification (W3C, 2003), filters of clause 9."""
    wide, high, depth, colours = struct.unpack(">IIBB", png[16:26])
    assert (depth, colours) == (8, 6)
    at, packed = 8, b""
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        packed += png[at + 8 : at + 8 + length] if name == b"IDAT" else b""
        at += 12 + length
    raw = zlib.decompress(packed)
    stride = 4 * wide + 1
    return wide, high, [raw[k * stride : (k + 1) * stride] for k in range(high)]


@pytest.mark.parametrize("bars", [1, 24])
def test_a_file_of_its_own_is_1920_by_1080_with_title_and_what_it_says(bars: int):
    page = Xml.fromstring(alone(a_figure(bars), "Paper <or> light?"))
    assert (page.get("width"), page.get("height")) == ("1920", "1080")
    _, _, wide, high = map(float, page.attrib["viewBox"].split())
    assert wide / high == pytest.approx(16 / 9, rel=1e-3)
    said = [mark.text for mark in page.iter(f"{SVG}text")]
    assert said[0] == "Paper <or> light?"
    assert said[-1] == "Half of it is the rig's."
    inner = page.find(f"{SVG}svg")
    assert inner is not None
    assert float(inner.attrib["y"]) + float(inner.attrib["height"]) < high


def test_long_words_are_set_in_lines_that_stay_on_the_page():
    page = Xml.fromstring(alone(a_figure(says="many words " * 60), "A long title " * 12))
    _, _, _, high = map(float, page.attrib["viewBox"].split())
    lines = [mark for mark in page.findall(f"{SVG}text") if mark.text]
    assert len(lines) > 6
    assert all(0 < float(line.attrib["y"]) < high for line in lines)
    assert "".join(line.text for line in lines).count("many") == 60


def test_a_small_figure_is_drawn_three_times_as_large():
    page = Xml.fromstring(alone(a_figure(), "Light"))
    assert page.attrib["viewBox"].startswith("0 0 640.0")


@pytest.mark.slow
def test_pixels_hold_the_figure_and_its_words():
    with_words = as_png(alone(a_figure(), "Light"))
    wide, high, rows = pixels(with_words)
    assert (wide, high) == (1920, 1080)
    title = [row for row in rows[: high // 2] if row.strip(b"\x00\xff") != b""]
    assert title
    without = as_png(alone(a_figure(), ""))
    assert with_words != without


def test_without_the_extra_it_is_named(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setitem(sys.modules, "resvg_py", None)
    with pytest.raises(HostctlError, match=r"pip install 'printer-hostctl\[png\]'"):
        as_png(alone(a_figure(), "Light"))


def test_without_fonts_no_picture_without_words_is_given(monkeypatch: pytest.MonkeyPatch):
    """Letters that no font has are left out in silence: so draws the library itself without any."""
    draw = resvg_py.svg_to_bytes
    monkeypatch.setattr(
        resvg_py, "svg_to_bytes", lambda **asked: draw(**asked, skip_system_fonts=True)
    )
    with pytest.raises(HostctlError, match="no common font was found"):
        as_png(alone(a_figure(), "Light"))
