"""Each kind of figure tells what its data are: counts add up, exceptions stand out, no number is
lost."""

import re
from dataclasses import replace
from itertools import pairwise
from math import isclose, sqrt

import pytest
from hypothesis import given, settings
from random_figures import LEISURELY, dot_rows, interval_charts, order_charts
from seen_in import Box, boxes, words

from hostctl.report.figures.cycle_path import CyclePath, Stop
from hostctl.report.figures.dot_rows import DotRows
from hostctl.report.figures.dots.in_text import EIGHTHS
from hostctl.report.figures.dots.row import DotRow, Dots
from hostctl.report.figures.history_chart import HistoryChart, Level
from hostctl.report.figures.interval_chart import IntervalChart, IntervalRow, Mark
from hostctl.report.figures.order_chart import OrderChart, Placed
from hostctl.report.figures.pen.lettering import NARROW_PX
from hostctl.report.figures.planning_curve import PlanningCurve
from hostctl.report.figures.share_bars import ShareBar, ShareBars

STEP_MM = 0.01
MINUS = "\N{MINUS SIGN}"


def a_row(*counts: int, first: int = 0, within: int = 3, **more) -> DotRow:
    """So many readings at one graduation after another."""
    dots = tuple(
        Dots(value_mm=k * STEP_MM, count=count, outside=abs(k) > within)
        for k, count in enumerate(counts, first)
        if count
    )
    return DotRow(label="paper slip", note="", dots=dots, **more)


def dots_of(*rows: DotRow, within_mm: float | None = 0.03) -> DotRows:
    return DotRows(rows=rows, step_mm=STEP_MM, within_mm=within_mm, counted_from="the average")


def marks(figure, *tags: str) -> list[Box]:
    """Marks of those kinds; the samples in the legend, at its foot, are left out."""
    picture = figure.in_svg()
    foot = max(
        (box.top for box in words(picture, NARROW_PX) if "the average" in box.words), default=9e9
    )
    return [box for box in boxes(picture, NARROW_PX) if box.tag in tags and box.top < foot]


def read(number: str) -> float:
    return float(number.replace(MINUS, "-").replace(",", ""))


def test_every_reading_is_a_dot_and_what_is_outside_a_diamond():
    figure = dots_of(a_row(1, 0, 2, 4, 5, 3, 1, 0, 1, first=-4))
    assert len(marks(figure, "circle")) == 15
    assert [box.look for box in marks(figure, "sign")] == ["accent", "accent"]


def test_dots_of_one_graduation_stand_on_each_other_above_their_value():
    dots = marks(dots_of(a_row(1, 3)), "circle")
    assert len({round(dot.left, 3) for dot in dots}) == 2
    assert not any(one.hits(other) for one in dots for other in dots if one is not other)


def test_the_blocks_own_zero_is_a_ring_and_one_of_the_readings():
    marked = dots_of(a_row(3, 2, zero=True)).in_svg().marks
    assert len(re.findall(r'<circle cx="[^"]*%" [^>]*fill="currentColor"', marked)) == 4
    assert len(re.findall(r'<circle cx="[^"]*%" [^>]*fill="none"', marked)) == 1


def test_too_many_for_dots_are_bars_as_high_as_their_counts_with_the_largest_written():
    figure = dots_of(a_row(50_000, 250_000, 500_000, 200_000, first=-2))
    bars = sorted(marks(figure, "column"), key=lambda box: box.left)
    heights = [bar.bottom - bar.top for bar in bars]
    assert heights == pytest.approx([heights[2] * part for part in (0.1, 0.5, 1, 0.4)], abs=0.11)
    assert "500,000" in {box.words for box in words(figure.in_svg(), NARROW_PX)}
    assert marks(figure, "circle") == []


def test_one_reading_in_a_million_outside_is_seen():
    figure = dots_of(a_row(999_999, 0, 0, 0, 1))
    assert [box.look for box in marks(figure, "sign", "column") if box.look] == ["accent"] * 2


def test_a_million_readings_make_a_small_picture():
    figure = dots_of(*[a_row(*[1000] * 200, first=-100)] * 5)
    assert len(figure.in_svg().marks) < 60_000


def test_one_reading_far_off_leaves_the_others_apart_and_is_told_in_numbers():
    far = DotRow(
        label="light",
        note="",
        dots=(*a_row(4, 5, 3).dots, Dots(value_mm=3.0, count=1, outside=True)),
    )
    figure = dots_of(far)
    said = " ".join(box.words for box in words(figure.in_svg(), NARROW_PX))
    assert "Off the scale: light +3.00 mm" in said
    assert "Off the scale: light +3.00 mm" in " ".join(figure.in_text().split())
    assert len(marks(figure, "arrow")) == 1
    at = sorted({round(dot.left, 1) for dot in marks(figure, "circle")})
    assert all(right - left > 10 for left, right in pairwise(at))


def test_the_tolerance_is_a_band_with_its_width_written_once():
    figure = dots_of(a_row(1, 2), a_row(2, 2))
    band = next(box for box in marks(figure, "rect"))
    middle = next(box for box in words(figure.in_svg(), NARROW_PX) if box.words == "±0.03 mm")
    assert band.left < middle.left < middle.right < band.right
    assert sum("±" in box.words for box in words(figure.in_svg(), NARROW_PX)) == 1
    assert "━━━" in figure.in_text()


@given(figure=dot_rows())
@settings(LEISURELY, max_examples=40)
def test_counts_add_up_in_the_numbers_of_the_dots(figure: DotRows):
    told = sum(int(row[1]) for row in figure.numbers().rows if len(row) == 3 and row[1])
    assert told == sum(dots.count for row in figure.rows for dots in row.dots)
    values = [read(row[0]) for row in figure.numbers().rows if len(row) == 3 and row[1]]
    drawn = [dots.value_mm for row in figure.rows for dots in row.dots]
    assert values == pytest.approx(drawn, abs=STEP_MM / 10)


def test_a_terminal_stacks_every_reading():
    text = dots_of(a_row(1, 0, 2, 4, 5, 3, 1, 0, 1, first=-4)).in_text().split("mm from")[0]
    assert text.count("●") == 15
    assert text.count("◆") == 2
    assert dots_of(a_row(3, 2, zero=True)).in_text().count("○") == 1


def test_a_terminal_draws_the_profile_of_many():
    upper, lower = dots_of(a_row(10, 50, 100, 50, 25, first=-2)).in_text().splitlines()[:2]
    assert [sign for sign in upper if sign in EIGHTHS.strip()] == ["█"]
    assert [sign for sign in lower if sign in EIGHTHS.strip()] == ["▂", "█", "█", "█", "▄"]


def test_a_head_has_a_line_of_its_own_only_where_the_row_below_it_is_one_line_high():
    beside, below = (replace(a_row(high, head="paper slip"), label="by hand") for high in (2, 1))
    assert dots_of(beside).in_text().splitlines()[0].split()[0] == "paper"
    assert dots_of(below).in_text().splitlines()[0] == "paper slip"


def test_a_picture_of_many_rows_is_no_higher_than_its_rows():
    row = a_row(3, 5, 9, first=-1)
    for count, lines_high in ((1, 2), (12, 24), (13, 13), (40, 40)):
        lines = dots_of(*[row] * count).in_text().splitlines()
        assert len(lines) - 3 == lines_high, count


def test_the_limits_are_marked_in_every_line_where_nothing_was_read():
    *drawn, _scale, _labels, _caption = dots_of(a_row(3, 2)).in_text().splitlines()
    assert [line.count("┊") for line in drawn] == [2, 2, 2]


def interval(value, low, high, **more) -> IntervalRow:
    return IntervalRow(label="paper slip", value=value, low=low, high=high, says="", **more)


def sizes(*rows: IntervalRow, against: Mark | None = None) -> IntervalChart:
    return IntervalChart(rows=rows, along="size", unit="mm", against=against)


def test_a_huge_interval_is_cut_and_its_number_written():
    figure = sizes(interval(0.012, 0.006, 0.9), interval(0.012, 0.009, 0.018))
    said = {box.words for box in words(figure.in_svg(), NARROW_PX)}
    assert "on to 0.9" in said
    assert len([box for box in boxes(figure.in_svg(), NARROW_PX) if box.tag == "arrow"]) == 1
    assert "→" in figure.in_text()


def test_an_end_that_is_open_is_pale_and_has_an_arrow_and_a_size_none_at_nought():
    above = sizes(interval(0.012, 0.009, None)).in_svg()
    below = sizes(interval(None, None, 0.004)).in_svg()
    assert [box.tag for box in boxes(above, NARROW_PX)].count("arrow") == 1
    assert [box.tag for box in boxes(below, NARROW_PX)].count("arrow") == 0
    for picture in (above, below):
        assert 'stroke-width="3" stroke-opacity' in picture.marks


def test_equal_ratios_are_equally_long():
    rows = [interval(1.0, 0.5, 2.0), interval(2.0, 1.0, 4.0)]
    figure = IntervalChart(rows=tuple(rows), along="ratio", unit="", against=None)
    bars = [
        float(end) - float(start)
        for start, end in re.findall(
            r'<line x1="([\d.]+)%" y1="[\d.]+" x2="([\d.]+)%" [^>]*stroke-width="3"',
            figure.in_svg().marks,
        )
    ]
    assert len(bars) == 2
    assert bars[0] == pytest.approx(bars[1], abs=0.02)


def test_sizes_begin_at_nought_and_a_limit_is_named():
    figure = sizes(
        interval(0.012, 0.009, 0.018), against=Mark(low=None, high=0.015, label="needed 0.015 mm")
    )
    said = [box.words for box in words(figure.in_svg(), NARROW_PX)]
    assert "0.000" in said
    assert "needed 0.015 mm" in said
    assert "┊ needed 0.015 mm" in figure.in_text()


@given(figure=interval_charts())
@settings(LEISURELY, max_examples=40)
def test_every_end_and_value_is_in_the_numbers_of_the_intervals(figure: IntervalChart):
    told = [read(cell) for row in figure.numbers().rows for cell in row[1:4] if cell]
    known = [
        one for row in figure.rows for one in (row.value, row.low, row.high) if one is not None
    ]
    known += (
        []
        if figure.against is None
        else [one for one in (figure.against.low, figure.against.high) if one is not None]
    )
    assert len(told) == len(known)
    assert all(
        isclose(one, other, rel_tol=6e-3, abs_tol=1e-9)
        for one, other in zip(told, known, strict=True)
    )


def order_of(*settings_made: Placed, kinds: int = 1, within_mm: float | None = None) -> OrderChart:
    return OrderChart(
        kinds=tuple(f"method {kind}" for kind in range(kinds)),
        settings=settings_made,
        stretches=(),
        step_mm=STEP_MM,
        within_mm=within_mm,
        counted_from="the average",
        foot="settings in the order made",
    )


def test_the_area_of_a_mark_is_its_count():
    figure = order_of(
        Placed(place=1, value_mm=0.0, kind=0, count=100),
        Placed(place=1, value_mm=0.01, kind=0, count=25),
        Placed(place=90, value_mm=0.01, kind=0, count=50),
    )
    most, quarter, half = (box.right - box.left for box in marks(figure, "circle"))
    assert quarter == pytest.approx(most / 2, abs=0.15)
    assert half == pytest.approx(most / sqrt(2), abs=0.15)
    said = " ".join(box.words for box in words(figure.in_svg(), NARROW_PX))
    assert "the largest: 100" in said


def test_eight_kinds_have_eight_shapes_and_eight_signs():
    made = [Placed(place=n + 1, value_mm=0.0, kind=n) for n in range(8)]
    figure = order_of(*made, kinds=8)
    drawn = re.findall(r"<(?:circle|path)[^>]*>", figure.in_svg().marks)[:8]
    assert len({re.sub(r'cx="[^"]*"', "", mark) for mark in drawn}) == 8
    assert len({sign for sign in figure.in_text() if sign in "●○■□▲△×+"} - {"+"}) == 7


def test_a_setting_outside_the_limits_stands_out():
    figure = order_of(
        Placed(place=1, value_mm=0.05, kind=0),
        Placed(place=2, value_mm=0.03, kind=0),
        within_mm=0.03,
    )
    assert [box.look for box in marks(figure, "circle")] == ["accent", ""]


@given(figure=order_charts())
@settings(LEISURELY, max_examples=40)
def test_settings_add_up_in_the_numbers_of_the_order(figure: OrderChart):
    table = figure.numbers()
    assert [int(row[0]) for row in table.rows] == [one.place for one in figure.settings]
    assert [read(row[1]) for row in table.rows] == pytest.approx(
        [one.value_mm for one in figure.settings], abs=STEP_MM / 10
    )
    if any(one.count > 1 for one in figure.settings):
        assert [int(row[2]) for row in table.rows] == [one.count for one in figure.settings]


def test_shares_are_as_long_as_they_are_and_written_beside():
    figure = ShareBars(
        parts=("rig", "hand", "method"), bars=(ShareBar(label="light", shares=(0.1, 0.3, 0.6)),)
    )
    bars = [
        box
        for box in boxes(figure.in_svg(), 1000.0)
        if box.tag == "rect" and box.bottom - box.top > 15
    ]
    assert [bar.right - bar.left for bar in bars] == pytest.approx([100, 300, 600], abs=5)
    said = [box.words for box in words(figure.in_svg(), NARROW_PX)]
    assert said == ["light", "rig 10 %", "hand 30 %", "method 60 %"]
    line = figure.in_text().splitlines()[0]
    assert [line.count(fill) for fill in "█▓▒"] == [6, 18, 36]


def test_heights_of_a_cycle_are_true_and_each_stop_is_told():
    stops = [(0.0, 10.0, "clear"), (0.0, 0.0, "set the gap"), (0.0, 10.0, ""), (42.0, 5.0, "read")]
    figure = CyclePath(
        stops=tuple(Stop(sideways_mm=x, z_mm=z, label=label) for x, z, label in stops)
    )
    dots = [box for box in boxes(figure.in_svg(), NARROW_PX) if box.tag == "circle"]
    clear, bed, _, half = ((dot.top + dot.bottom) / 2 for dot in dots)
    assert half == pytest.approx((clear + bed) / 2, abs=0.2)
    said = " ".join(box.words for box in words(figure.in_svg(), NARROW_PX))
    assert "z 0 mm: set the gap" in said
    assert [line[4] for line in figure.in_text().splitlines()] == ["●", "↓", "↑", "→"]
    assert [row[2] for row in figure.numbers().rows] == ["10", "0", "10", "5"]


def test_a_sign_of_change_is_a_diamond_and_told_in_the_numbers():
    figure = HistoryChart(
        first="2026-03-01",
        last="2026-05-01",
        values=(0.004, 0.005, 0.011),
        averages=(),
        wild=(2,),
        levels=(Level(value=0.009, label="limit 0.0090", is_limit=True),),
    )
    rows = figure.numbers().rows
    assert ("3", "0.0110", "a sign") in rows
    assert ("", "0.00900", "limit 0.0090") in rows
    assert figure.in_svg().marks.count('class="accent"') == 2  # the point, and in the legend


def test_the_answer_stands_out_on_the_planning_curve():
    figure = PlanningCurve(
        trials=(5, 6, 7), chances=(0.5, 0.8, 0.95), goal=0.8, answer=6, counted="trials of each"
    )
    said = [box.words for box in words(figure.in_svg(), NARROW_PX)]
    assert {"5", "6", "7", "80 %"} <= set(said)
    assert ("6", "80.0", "enough") in figure.numbers().rows
