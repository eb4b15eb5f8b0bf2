"""In the real browser no words are cut off and none lie on others, be names as they may."""

import json
from itertools import combinations
from pathlib import Path

import pytest
from chromium import Chromium
from hypothesis import given, settings
from random_figures import KINDS

from hostctl.report.document.blocks import Drawing

pytestmark = [pytest.mark.browser, pytest.mark.slow]

EACH = 25
HAIR_PX = 1.0
MARGIN_PX = 16
MEASURE = """
JSON.stringify([...document.querySelectorAll("svg[role]")].map((svg) => {
  const at = svg.getBoundingClientRect();
  return [at.width, at.height, [...svg.querySelectorAll("text")].map((one) => {
    const box = one.getBoundingClientRect();
    return [box.left - at.left, box.top - at.top, box.right - at.left, box.bottom - at.top,
            one.textContent];
  })];
}))
"""


def some_of(kind) -> list[Drawing]:
    """The same figures each time."""
    found: list[Drawing] = []

    @given(figure=kind())
    @settings(max_examples=EACH, derandomize=True, database=None)
    def gather(figure: Drawing) -> None:
        found.append(figure)

    gather()
    return found


def page_of(figures: list[Drawing]) -> str:
    drawn = (
        f'<svg role="img" width="100%" height="{one.height_px}" style="display:block">'
        f"{one.marks}</svg>"
        for one in (figure.in_svg() for figure in figures)
    )
    head = (
        '<!doctype html><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    )
    return f'{head}<body style="margin:{MARGIN_PX}px;font-family:sans-serif">{"".join(drawn)}'


def faults(wide: float, high: float, texts: list[list]) -> list[object]:
    cut = [
        text
        for text in texts
        if text[0] < -HAIR_PX or text[2] > wide + HAIR_PX or text[1] < -4 or text[3] > high + 4
    ]
    return cut + [pair for pair in combinations(texts, 2) if lie_on_each_other(*pair)]


def lie_on_each_other(one: list, other: list) -> bool:
    """Letters, not the blank that a line has above and below them."""
    across = min(one[2], other[2]) - max(one[0], other[0])
    down = min(one[3], other[3]) - max(one[1], other[1])
    return across > HAIR_PX and down > 3


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
async def test_words_are_whole_and_lie_beside_each_other(chromium: Chromium, tmp_path: Path, kind):
    file = tmp_path / "figures.html"
    file.write_text(page_of(some_of(kind)))
    async with chromium.phones() as phones:
        for wide in (390, 640 + 2 * MARGIN_PX):
            phone = await phones.open(file.as_uri(), wide=wide)
            measured = json.loads(str(await phone.look(MEASURE)))
            assert len(measured) >= EACH // 2
            assert [found for one in measured if (found := faults(*one))] == []
