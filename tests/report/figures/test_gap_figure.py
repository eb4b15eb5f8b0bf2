"""The figure of the true gap tells each setting, what was wanted, and whose the doubt is."""

import re
from math import inf

import pytest
from hypothesis import given, settings
from random_figures import LEISURELY, true_gaps
from seen_in import Box, boxes, words

from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.gap.gaps import GapRow, MeanBar
from hostctl.report.figures.gap.true_gap import TrueGap
from hostctl.report.figures.pen.lettering import NARROW_PX

PHASE_MM = 0.0037  # readings are on their own grid, wherever the tie puts it


def dots(*counts: int, first: int, doubted: bool = False) -> tuple[Dots, ...]:
    found = []
    for place, count in enumerate(counts, first):
        gap_mm = round(0.01 * place + PHASE_MM, 6)
        outside = abs(gap_mm - 0.1) > 0.05
        found.append(Dots(value_mm=gap_mm, count=count, outside=outside, doubted=doubted))
    return tuple(found)


def row(*of: Dots, note: str = "on target", mean: MeanBar | None = None) -> GapRow:
    readings = DotRow(label="paper slip", note=note, dots=tuple(of))
    return GapRow(readings=readings, meant_mm=0.1, mean=mean)


def bar(value: float, reach: float, tie: float) -> MeanBar:
    ends = {"low": value - reach, "high": value + reach}
    return MeanBar(value=value, **ends, tie_low=value - tie, tie_high=value + tie)


def gaps(*rows: GapRow, margin_mm: float | None = 0.02, tie_mm: float | None = 0.005) -> TrueGap:
    return TrueGap(
        rows=rows,
        step_mm=0.01,
        target_mm=0.1,
        margin_mm=margin_mm,
        within_mm=0.05,
        tie=None if tie_mm is None else (0.1 - tie_mm, 0.1 + tie_mm),
    )


def marks(figure: TrueGap, *tags: str) -> list[Box]:
    """Without the samples of the legend."""
    picture = figure.in_svg()
    foot = next(box.top for box in words(picture, 1000.0) if box.words == "gap, mm")
    return [box for box in boxes(picture, 1000.0) if box.tag in tags and box.bottom < foot]


def middle(box: Box) -> float:
    return (box.left + box.right) / 2


def test_a_graduation_is_as_wide_everywhere_and_stacks_stand_over_their_gap():
    figure = gaps(row(*dots(1, 2, 3, first=8)), tie_mm=None)
    at = sorted({round(middle(dot), 1) for dot in marks(figure, "circle")})
    assert len(at) == 3
    assert at[1] - at[0] == pytest.approx(at[2] - at[1], abs=0.2)
    assert len(marks(figure, "circle")) == 6


def test_what_is_doubted_is_open_and_what_is_outside_a_diamond():
    figure = gaps(row(*dots(2, first=9), *dots(1, first=11, doubted=True), *dots(1, first=16)))
    picture = figure.in_svg().marks
    assert len(re.findall(r'<circle [^>]*fill="currentColor"', picture)) >= 2
    assert len(re.findall(r'<circle cx="[\d.]+%"[^>]*fill="none"', picture)) == 1
    assert [box.look for box in marks(figure, "sign") if box.look] == ["accent"]
    text = figure.in_text()
    assert "○ read since the last good check of the tie" in " ".join(text.split())
    assert text.split("0.05")[0].count("○") == 1
    assert text.split("0.05")[0].count("◆") == 1


def test_the_ties_part_lies_within_the_mean_and_again_alone_at_the_target():
    figure = gaps(row(*dots(2, 2, first=9), mean=bar(0.11, reach=0.02, tie=0.005)))
    hollow = [box for box in marks(figure, "rect") if box.bottom - box.top == 8]
    assert len(hollow) == 2
    assert hollow[0].right - hollow[0].left == pytest.approx(hollow[1].right - hollow[1].left, 0.02)
    scale = figure.scale()
    assert middle(hollow[0]) == pytest.approx(1000 * scale.share(0.11), abs=0.5)
    assert middle(hollow[1]) == pytest.approx(1000 * scale.share(0.1), abs=0.5)
    lane = next(line for line in figure.in_text().splitlines() if "├─" in line)
    assert re.search("├─+━+●━+─+┤", lane)


def test_margin_and_tolerance_are_told_apart_by_more_than_colour():
    with_margin, without = (
        gaps(row(*dots(1, first=9))),
        gaps(row(*dots(1, first=9)), margin_mm=None),
    )
    assert with_margin.in_svg().marks.count("stroke-dasharray") > 2
    assert without.in_svg().marks.count("stroke-dasharray") == 0
    assert "░" in with_margin.in_text()
    assert "░" not in without.in_text()
    assert "┊" in without.in_text()


def test_a_tie_that_knows_nearly_nothing_does_not_crush_the_settings():
    figure = gaps(row(*dots(3, 3, first=9), mean=bar(0.11, reach=4.0, tie=4.0)), tie_mm=4.0)
    scale = figure.scale()
    assert scale.high - scale.low < 0.3
    said = [box.words for box in words(figure.in_svg(), NARROW_PX)]
    assert "on to −3.89 and 4.11" in said
    assert "←" in figure.in_text()
    assert "→" in figure.in_text()


def test_an_interval_without_end_is_drawn_and_its_numbers_say_so():
    open_bar = MeanBar(value=0.1, low=-inf, high=inf, tie_low=-inf, tie_high=inf)
    figure = gaps(row(*dots(2, first=9), mean=open_bar))
    assert ("", "", "mean, 95 %, from") in figure.numbers().rows
    assert "←" in figure.in_text()


def test_what_a_row_is_meant_to_set_may_be_another_gap():
    other = GapRow(readings=row(*dots(2, first=19)).readings, meant_mm=0.2, mean=None)
    figure = gaps(row(*dots(2, first=9)), other)
    assert [row[0] for row in figure.numbers().rows if row[-1] == "wanted"] == ["0.100", "0.200"]
    lanes = [line for line in figure.in_text().splitlines() if "│" in line and "░" in line]
    assert lanes[0].index("│") < lanes[1].index("│")


@given(figure=true_gaps())
@settings(LEISURELY, max_examples=30)
def test_every_setting_is_in_the_numbers(figure: TrueGap):
    told = sum(int(cells[1]) for cells in figure.numbers().rows if len(cells) == 3 and cells[1])
    assert told == sum(dots.count for row in figure.rows for dots in row.readings.dots)
