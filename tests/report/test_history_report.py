"""A rig over time: published charts by the file's way, and what is said of them."""

import csv
import dataclasses
import json
import math
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from hostctl.errors import DataError
from hostctl.report.figures.history_chart import HEIGHT, MOST_POINTS
from hostctl.report.history.answer import answer
from hostctl.report.history.cautions import cautions
from hostctl.report.history.chart import history_chart
from hostctl.report.history.document import HISTORY
from hostctl.report.history.file import history_points
from hostctl.report.history.history import (
    history_of,
    history_of_checks,
    history_of_values,
    mean_series,
    spread_series,
    value_series,
)
from hostctl.report.history.result import Check, Limits, Point, Series
from hostctl.report.sources.tables.rows import BadRows

DATA = Path(__file__).parents[1] / "data"
NIST = json.loads((DATA / "repeatability_nist_check_standard.json").read_text())
FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def checks(
    sds: Sequence[float],
    *,
    df: float = 20,
    means: Sequence[float] | None = None,
    resolution: float = 0.001,
) -> list[Check]:
    """One a week."""
    start = datetime(2026, 1, 5, tzinfo=UTC)
    return [
        Check(
            name=f"run {number}",
            at=start + timedelta(weeks=number - 1),
            n=int(df) + 1,
            sd_mm=sd,
            df=df,
            resolution_mm=resolution,
            mean_mm=None if means is None else means[number - 1],
        )
        for number, sd in enumerate(sds, 1)
    ]


def steady(count: int, seed: int = 7) -> list[float]:
    rng = np.random.default_rng(seed)
    return [float(s) for s in 0.006 * np.sqrt(rng.chisquare(20, count) / 20)]


def written(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "kept.csv"
    path.write_text(text)
    return path


def limits_of(series: Series) -> Limits:
    assert series.limits is not None
    return series.limits


def said_first(subject: str, series: Series) -> str:
    return answer(history_of(subject, [series]))


def cautioned(kept: Sequence[Check]) -> str:
    return " ".join(cautions(history_of("the rig", [spread_series(kept, None)], kept)))


def test_the_handbooks_flow_rates_from_a_file(tmp_path: Path):
    """NIST/SEMATECH e-Handbook 6.3.2.2 (data and results from memory)."""
    points = history_points(written(tmp_path, "flow\n" + "\n".join(map(str, FLOW))))
    chart = limits_of(value_series(points, None))
    found = (chart.centre, chart.moving_range_mean, chart.upper, chart.lower)
    assert [round(value, 4) for value in found] == [50.81, 1.8778, 55.8041, 45.8159]


def test_the_check_standard_of_the_handbook():
    """NIST/SEMATECH e-Handbook 2.6.2: pooled s 0.06139 on 125, centre 97.06984."""
    text = (DATA / "repeatability_nist_check_standard.csv").read_text()
    rows = list(csv.DictReader(text.splitlines()))
    kept = checks(
        [float(row["sd_of_6"]) for row in rows],
        df=5,
        means=[float(row["mean_of_6"]) for row in rows],
    )
    spread, mean = spread_series(kept, None), mean_series(kept, None)
    assert spread.pooled_sd is not None
    assert mean is not None
    published = NIST["expected_published"]
    assert round(spread.pooled_sd, 5) == published["level1_sd"]
    assert spread.pooled_df == published["level1_dof"]
    assert round(limits_of(mean).centre, 5) == published["centre"]


def test_a_steady_rig_is_said_to_be_steady():
    said = said_first("the rig of bench", spread_series(checks(steady(12)), None))
    assert said.startswith(
        "The rig of bench shows no sign of change over 12 checks (2026-01-05 to 2026-03-23); its "
    )


def test_a_rig_that_grew_worse_is_named_by_date_and_run():
    sds = [*steady(12), 0.0125, 0.0131]
    series = spread_series(checks(sds), 12)
    said = " ".join(sign.words for sign in series.signs)
    assert "Run 13 (2026-03-30) to run 14 (2026-04-06): spread beyond the limit" in said
    assert "0.0131 mm where 0.0" in said
    assert {12, 13} <= series.wild
    assert "the latest at run 14 (2026-04-06)" in said_first("the rig of bench", series)


def test_each_sign_names_its_checks_and_its_step():
    """By hand: ten checks step by 1 about 1.5, limits 1.5 ± 3/1.128; then 9, 9 and 1.5."""
    values = [1.0, 2.0] * 5 + [9.0, 9.0, 1.5]
    points = [Point(name=f"check {k}", when="", value=v) for k, v in enumerate(values, 1)]
    signs = value_series(points, 10).signs
    assert [(sign.first, sign.last, list(sign.marked)) for sign in signs] == [
        (9, 10, [10]),  # the step up to 9
        (9, 11, [11]),  # two of three beyond two
        (10, 11, [10, 11]),  # two points beyond the limits
        (10, 12, [10, 11, 12]),  # the weighted average
        (11, 12, [12]),  # the step down
    ]
    said = [sign.words for sign in signs]
    assert said[0].startswith("Check 11, value: a step of 7.0 mm from the check before")
    assert said[1].startswith("Check 10 to check 12, value: two of three points beyond two")
    assert said[2] == "Check 11 to check 12, value: a point beyond three standard deviations."
    assert "Check 11 to check 13, value: the weighted average has drifted up" in said[3]
    assert said[4].startswith("Check 13, value: a step of 7.5 mm from the check before")


def test_the_baseline_keeps_a_bad_stretch_out_of_the_limits():
    kept = checks([*steady(12), 0.0125, 0.0131])
    own, all_in = (spread_series(kept, baseline).spread_limits for baseline in (12, None))
    assert own is not None
    assert all_in is not None
    assert own[-1] < all_in[-1]


def test_a_shift_of_the_mean_is_seen_where_there_is_a_datum():
    means = [0.001 * (-1) ** i for i in range(12)] + [0.008] * 3
    series = mean_series(checks(steady(15), means=means), 12)
    assert series is not None
    words = [sign.words for sign in series.signs]
    assert any("a step of" in sign and "Run 13" in sign for sign in words)
    assert any("a point beyond three standard deviations" in sign for sign in words)
    assert any("weighted average has drifted up" in sign for sign in words)


def test_without_a_datum_there_is_no_mean_and_it_is_said_why():
    kept = checks(steady(12))
    assert mean_series(kept, None) is None
    assert "count from their own zero" in cautioned(kept)


def test_one_check_says_how_many_are_needed():
    series = spread_series(checks([0.006]), None)
    assert said_first("the rig of bench", series) == (
        "Whether the rig of bench has changed can't be said yet from one check: 1 more to begin a "
        "chart, 20 in all for firm limits."
    )
    assert series.needs_checks == 2


def alone_at_the_end(count: int) -> Series:
    """Checks all alike but for the last: as far out of its limits as one of so many can lie."""
    values = [0.0] * (count - 1) + [1.0]
    points = [Point(name=f"check {k}", when="", value=v) for k, v in enumerate(values, 1)]
    return value_series(points, None)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_so_few_checks_that_none_can_show_a_sign_are_no_proof_of_steadiness(count: int):
    assert alone_at_the_end(count).signs == ()
    assert "can't be said yet" in said_first("the rig", alone_at_the_end(count))


def test_from_five_checks_on_one_can_show_a_sign():
    assert alone_at_the_end(5).signs != ()
    level = [Point(name=f"check {k}", when="", value=v) for k, v in enumerate((1, 2, 1, 2, 1.5))]
    assert "shows no sign of change" in said_first("the rig", value_series(level, None))


def test_few_checks_have_rough_limits_and_say_so():
    kept = checks(steady(5))
    assert "20 make them firm" in cautioned(kept)


def test_checks_that_are_all_alike_have_no_limits():
    kept = checks([0.0] * 6, resolution=0.01)
    assert spread_series(kept, None).limits is None
    said = cautioned(kept)
    assert "all alike" in said
    assert "below one graduation (0.01 mm)" in said


def test_different_resolutions_are_named():
    kept = checks(steady(4))
    kept[0] = dataclasses.replace(kept[0], resolution_mm=0.01)
    assert "different resolutions" in cautioned(kept)


@pytest.mark.slow
def test_a_steady_rig_shows_signs_as_often_as_is_said():
    """Said under each chart: 2 of 10 histories of 20 checks, half of those of 52. Simulated."""
    rng = np.random.default_rng(31)
    shares = {}
    for count, histories in ((20, 250), (52, 80)):
        drawn = 0.006 * np.sqrt(rng.chisquare(20, (histories, count)) / 20)
        shares[count] = np.mean([bool(spread_series(checks(row), None).signs) for row in drawn])
    assert shares[20] == pytest.approx(0.2, abs=0.08)
    assert shares[52] == pytest.approx(0.5, abs=0.16)


def test_points_lie_where_their_values_are():
    points = [Point(name=f"check {i}", when="", value=v) for i, v in enumerate((0.0, 10.0, 5.0))]
    series = dataclasses.replace(value_series(points, None), weighted_averages=None)
    drawn = history_chart(series).in_text()
    rows = [row.partition("┤")[2] for row in drawn.splitlines()[:HEIGHT]]
    low, high, middle = (
        next(i for i, row in enumerate(rows) if row[column : column + 1] == "●")
        for column in (0, 2, 4)
    )
    assert high < middle < low
    assert middle == pytest.approx((high + low) / 2, abs=0.5)


@pytest.mark.parametrize("count", [2, 3, 30, 31, 60, 200])
def test_it_fits_a_terminal_however_many_checks(count: int):
    kept = checks(steady(count), means=steady(count, 8))
    text = HISTORY.text(history_of_checks("the rig of bench", kept, ["run 99"], baseline=None))
    assert max(map(len, text.splitlines())) <= 80
    assert "Left out, broken off with fewer than 10 readings (too " in " ".join(text.split())
    assert "run 99." in text


def test_a_long_history_shows_its_latest():
    kept = checks(steady(200))
    drawn = history_chart(spread_series(kept, None)).in_text().splitlines()
    assert f"{kept[200 - MOST_POINTS].at:%Y-%m-%d}" in drawn[-1]
    assert f"{kept[-1].at:%Y-%m-%d}" in drawn[-1]


def test_dates_put_a_file_in_order_and_units_are_understood(tmp_path: Path):
    text = "date;Height (µm)\n2026-03-01;3,5\n2026-01-01;1\n2026-02-01;2 mil\n"
    points = history_points(written(tmp_path, text))
    assert [point.when for point in points] == ["2026-01-01", "2026-02-01", "2026-03-01"]
    assert [point.value for point in points] == pytest.approx([0.001, 0.0508, 0.0035])


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("2026-01-01,0.1\n2026-01-02,0.2\n", "its first line holds a value, not names"),
        ("date;value (cm)\n2026-01-01;1\n", "a unit that is not known (cm)"),
        ("date,value\n2026-01-01,0,1\n", ":2: 3 cells, where the head has 2."),
        ("value\n0,1\n0.2\n", "decimal points and decimal commas are mixed"),
        ("value\n1,234\n987\n", "a mark may part thousands or decimals"),
        ("value\n0.1 mm\n0.2\n", ":3: its value has no unit, where other rows name theirs."),
    ],
)
def test_no_check_of_a_file_is_lost_or_taken_for_mm_unasked(tmp_path: Path, text: str, said: str):
    with pytest.raises(DataError) as caught:
        history_points(written(tmp_path, text))
    assert said in str(caught.value)


def test_bare_values_need_no_head(tmp_path: Path):
    points = history_points(written(tmp_path, "0.1\n0.2\n0.3\n"))
    assert [point.value for point in points] == [0.1, 0.2, 0.3]


def test_each_bad_row_of_a_file_is_named(tmp_path: Path):
    text = "date,mm\n2026-01-01,0.1\nyesterday,0.2\n2026-01-03,\n2026-01-04,nan\n"
    with pytest.raises(BadRows) as caught:
        history_points(written(tmp_path, text))
    assert [line.split(":")[1] for line in str(caught.value).splitlines()[:-1]] == ["3", "4", "5"]


def test_a_date_under_a_name_that_is_not_known_is_told_the_names_that_are(tmp_path: Path):
    with pytest.raises(DataError) as caught:
        history_points(written(tmp_path, "Datum;Wert\n2026-01-01;0,1\n"))
    assert str(caught.value).endswith(
        "no column is called date, and 2 may be the values (Datum, Wert). "
        "Call it one of: date, time, when, day, taken_at, started."
    )


@pytest.mark.parametrize("head", ["date", "date,a,b"])
def test_a_file_needs_one_column_of_values(tmp_path: Path, head: str):
    with pytest.raises(DataError, match="columns beside the date"):
        history_points(written(tmp_path, f"{head}\n1,2,3\n"))


def test_the_figures_for_programs_are_plain_json():
    kept = checks([*steady(12), 0.0125])
    found = HISTORY.data(history_of_checks("the rig of bench", kept, [], baseline=12))
    told = json.loads(json.dumps(found, allow_nan=False))
    assert told["series"][0]["signs"][0]["last"] == 12
    assert math.isclose(told["checks"][12]["sd_mm"], 0.0125)


def test_values_from_a_file_are_drawn_in_mm(tmp_path: Path):
    points = history_points(written(tmp_path, "value (µm)\n5\n6\n5\n4\n"))
    said = HISTORY.text(history_of_values("values", points, baseline=None))
    assert "Value of each check, mm (" in said
    assert " mean 0.0050 ┤" in said
