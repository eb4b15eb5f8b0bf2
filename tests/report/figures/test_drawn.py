"""Whatever the data: marks lie within the picture, words beside each other, and nothing is lost."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_figures import KINDS, LEISURELY
from seen_in import boxes, drawn, words

from hostctl.report.document.blocks import Drawing
from hostctl.report.figures.pen.lettering import NARROW_PX, cells

MEDIUM_PX = 640.0
HAIR_PX = 2.5  # half a stroke, or a rounding, beyond the edge is not seen
every_figure = st.one_of(*(kind() for kind in KINDS))
of_each_kind = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)


@of_each_kind
@given(data=st.data())
@settings(LEISURELY, max_examples=40)
def test_every_mark_lies_within_the_picture(kind, data):
    picture = data.draw(kind()).in_svg()
    for wide in (NARROW_PX, MEDIUM_PX):
        for box in boxes(picture, wide):
            assert box.left >= -HAIR_PX, box
            assert box.right <= wide + HAIR_PX, box
            assert box.top >= -HAIR_PX, box
            assert box.bottom <= picture.height_px + HAIR_PX, box


@of_each_kind
@given(data=st.data())
@settings(LEISURELY, max_examples=40)
def test_no_words_lie_on_others(kind, data):
    picture = data.draw(kind()).in_svg()
    for wide in (NARROW_PX, MEDIUM_PX):
        for one, other in combinations(words(picture, wide), 2):
            assert not one.hits(other), (one, other)


@of_each_kind
@given(data=st.data())
@settings(LEISURELY, max_examples=30)
def test_a_terminals_picture_has_at_most_79_columns(kind, data):
    text = data.draw(kind()).in_text()
    assert max(map(cells, text.split("\n"))) <= 79
    assert all(sign.isprintable() for sign in text.replace("\n", ""))


@given(figure=every_figure)
@settings(LEISURELY, max_examples=60)
def test_numbers_are_as_wide_as_their_heads(figure: Drawing):
    table = figure.numbers()
    assert {len(row) for row in table.rows} <= {1, len(table.columns)}


@of_each_kind
@given(data=st.data())
@settings(LEISURELY, max_examples=30)
def test_names_come_out_as_text(kind, data):
    """Markup makes no marks; controls and signs that turn the writing round make nothing."""
    seen = drawn(data.draw(kind()).in_svg())
    assert {mark.tag for mark in seen.iter()} <= {"svg", "path", "circle", "line", "rect", "text"}
    assert {name for mark in seen.iter("text") for name in mark.attrib} <= {
        *("x", "y", "dx", "font-size", "font-weight", "fill", "text-anchor")
    }
    assert "".join(mark.text or "" for mark in seen.iter("text")).isprintable()


@of_each_kind
@given(data=st.data())
@settings(LEISURELY, max_examples=20)
def test_a_figure_is_drawn_the_same_each_time(kind, data):
    figure = data.draw(kind())
    assert figure.in_svg() == figure.in_svg()
    assert figure.in_text() == figure.in_text()
