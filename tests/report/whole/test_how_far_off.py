"""What a report of a tied run shows: the gap first, then the tie that says so, and how it was
made."""

from dataclasses import replace
from pathlib import Path

import pytest
from gap_runs import GapRun, Hand, keep_gap_runs
from reported import report_from

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.document.blocks import Document, Heading, Role
from hostctl.report.enclosed.sourced import sourced_run
from hostctl.report.whole.document import REPORT
from hostctl.report.whole.result import Conduct, Planned, Report, TiePlanned

HANDS = (
    Hand(method="paper-slip", mean_mm=0.14, operator="Ada"),
    Hand(method="feeler-gauge", mean_mm=0.1, operator="Ada"),
)


def report_of_run(folder: Path, of: GapRun) -> Report:
    path = folder / "gaps.sqlite"
    keep_gap_runs(path, of)
    source = sourced_run(path, 1)
    analysis = analyse(source.material, None, Wish(goal=source.material.goal))
    return report_from([source], None, source.material, analysis)


def told(report: Report) -> Document:
    return REPORT.document(report, True)


def text(report: Report) -> str:
    return " ".join(REPORT.text(report).split())


def test_the_first_screen_shows_the_gap_and_says_how_far_off(tmp_path: Path):
    document = told(report_of_run(tmp_path, GapRun(hands=HANDS, trials=20)))
    first = document.said(Role.ANSWER)[0]
    assert "off target: paper-slip by Ada" in first
    assert next(iter(document.figures())) == "true-gap"
    assert "readings" not in document.figures()


def test_without_a_tie_the_first_sentence_says_that_it_is_repeatability_only(tmp_path: Path):
    document = told(report_of_run(tmp_path, GapRun(grows_pressed=None)))
    assert document.said(Role.ANSWER)[0].startswith("Repeatability only: ")
    assert "true-gap" not in document.figures()
    assert "tie" not in document.figures()
    assert "How far off is it?" not in [b.text for b in document.blocks if isinstance(b, Heading)]


def test_every_observation_of_the_tie_is_drawn_and_what_moved_is_seen(tmp_path: Path):
    of = GapRun(
        hands=HANDS, checked_after=(5, 12), moves_mm={7: 0.03}, said_to_move=(2,), times=6, seed=4
    )
    report = report_of_run(tmp_path, of)
    assert len(report.ties) == 6 + 3 * 3
    tie = told(report).figures()["tie"]
    assert "1 of 3 checks found that it had moved" in tie.says
    heads = [row[0] for row in tie.drawing.numbers().rows if len(row) == 1]
    assert heads == ["the tie", "after 5 settings", "after 12 settings", "after 20 settings"]
    first = [one for one in report.ties if one.after is None]
    later = [one for one in report.ties if one.after in (12, 20)]
    middle = [sum((one.low_mm + one.high_mm) / 2 for one in s) / len(s) for s in (first, later)]
    assert middle[1] - middle[0] == pytest.approx(0.03, abs=0.012)
    doubted = sum(one.doubted for row in report.analysis.rows for one in row.values)
    assert doubted == sum(one.doubted for one in report.analysis.trueness) > 0
    blocks = [one for one in report.blocks if one.doubted]
    assert sum(one.count for block in blocks for one in block.settings) == doubted


def test_ties_are_no_settings(tmp_path: Path):
    report = report_of_run(tmp_path, GapRun(hands=HANDS))
    assert sum(one.count for one in report.order.places) == 20
    assert sum(one.of for one in report.counts) == 20
    assert report.enclosed.readings == 20 + 5 + 3


def test_settings_in_order_are_those_of_the_blocks_however_a_tie_parts_them(tmp_path: Path):
    of = GapRun(hands=HANDS, checked_after=(4, 14), moves_mm={8: 0.02}, said_to_move=(2,))
    report = report_of_run(tmp_path, of)
    placed = sorted(one.from_mm for one in report.order.places)
    seen = [v.from_mm for row in report.analysis.rows for v in row.values for _ in range(v.count)]
    assert placed == pytest.approx(sorted(seen))
    assert [one.place for one in report.order.places] == list(range(1, 21))


TIE = TiePlanned(
    by="touch",
    contact="lamp",
    points=("front-left",),
    times=5,
    checks=1,
    check_times=3,
    floor_below_mm=0.1,
    coarse_mm=0.05,
    fine_mm=0.01,
)
PLANNED = Planned(
    methods=(),
    operators=(),
    points=("front-left",),
    trials=10,
    order="blocked",
    reference="gap",
    gauge="typed",
    resolution_mm=0.01,
    settle_s=1.0,
    turn_away_deg=None,
    clear_z_mm=10.0,
    warm_bed_c=None,
    simulated=False,
    path=(),
    tie=TIE,
)


def planned(report: Report, tie: TiePlanned) -> Report:
    (run,) = report.conduct
    conduct: Conduct = replace(run, planned=replace(PLANNED, tie=tie))
    return replace(report, conduct=(conduct,))


@pytest.mark.parametrize(
    ("by", "says"),
    [
        ("touch", "near contact 0.01 mm; each step is finished"),
        ("feelers", "the largest blade that goes under the nozzle"),
        ("gauge-block", "until a gauge block under the nozzle just touches it"),
    ],
)
def test_how_it_was_done_tells_the_steps_of_the_tie(by: str, says: str, tmp_path: Path):
    report = report_of_run(tmp_path, GapRun(hands=HANDS))
    said = text(planned(report, replace(TIE, by=by, contact="lamp" if by == "touch" else None)))
    assert says in said
    assert "5 times at front-left, and checked 1 time on the way and once more at the end" in said
    assert ("under 0.5 V and over 100 kΩ" in said) == (by == "touch")
