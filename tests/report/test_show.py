"""What `show` says of a run: which readings count, what they come to, what a reader is told."""

import re
from collections.abc import Sequence
from pathlib import Path
from statistics import stdev

import pytest
from kept_runs import KeptRun, a_run, keep

from hostctl.cli.show import shown
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.analysis import Wish, judge
from hostctl.report.analysis.result.judgement import Judgement
from hostctl.report.sources.material import Block
from hostctl.report.sources.run_material import run_material

WIDE = [0.20, -0.15, 0.31, -0.22, 0.08, -0.27, 0.12, 0.02, -0.11, 0.17]
NARROW = [0.01, -0.01, 0.02, 0.00, -0.02, 0.01, 0.00, 0.02, -0.01, 0.00]
ALIKE = [0.0] * 9
RIG = KeptRun(
    new=a_run("rig-check"),
    blocks=[Block(method="rig-check", operator="", point="p", values_mm=NARROW)],
)


@pytest.fixture
def database(tmp_path: Path) -> Path:
    return tmp_path / "kept.sqlite"


def block(
    values_mm: Sequence[float], method: str = "paper-slip", operator: str = "volunteer-a"
) -> Block:
    return Block(method=method, operator=operator, point="p", values_mm=values_mm)


def study(*blocks: Block, reference: str = "first", **changes: object) -> KeptRun:
    known: dict[str, object] = {
        "new": a_run(reference=reference),
        "blocks": blocks,
        "with_zeros": reference == "first",
    }
    return KeptRun(**known | changes)  # type: ignore[arg-type]  # fields by name


def said(database: Path, *runs: KeptRun) -> str:
    """What `show` says of the last of these runs, line ends aside."""
    keep(database, *runs)
    return " ".join(shown(database, len(runs))[0].split())


def judged(database: Path, *runs: KeptRun) -> Judgement:
    keep(database, *runs)
    return judge(run_material(database, len(runs)), None, Wish())


def test_void_readings_and_zeros_are_no_readings(database: Path):
    run = study(block(NARROW), block(WIDE), void={1: "redo"})
    (result,) = judged(database, run).results
    assert (result.readings, result.blocks, result.settings) == (len(NARROW), 1, len(NARROW) + 1)


def test_blocks_of_the_same_hands_are_pooled_and_others_kept_apart(database: Path):
    run = study(block(NARROW), block(WIDE), block(WIDE, operator="volunteer-b"))
    found = judged(database, run).results
    assert [(each.operator, each.blocks) for each in found] == [
        ("volunteer-a", 2),
        ("volunteer-b", 1),
    ]


def test_a_wide_spread_agrees_with_the_ordinary_standard_deviation(database: Path):
    (result,) = judged(database, study(block(WIDE))).results
    assert isinstance(result.spread, RoundedSpread)
    # Python's statistics
    assert result.spread.quoted.value == pytest.approx(stdev([0.0, *WIDE]), rel=0.01)
    assert result.range_mm == pytest.approx(0.58)
    assert result.mean_mm == pytest.approx(sum(WIDE) / len(WIDE))
    mean = sum(WIDE) / (len(WIDE) + 1)  # the zero is a setting too
    farthest = max(abs(value - mean) for value in [0.0, *WIDE])
    assert result.largest_deviation_mm == pytest.approx(farthest)


def test_alike_readings_get_the_upper_bound_that_the_rounding_allows(database: Path):
    # 0.0044 mm for 10 alike at 0.01 mm, at the worst place of the mean; 9 and a zero
    text = said(database, study(block(ALIKE)))
    assert "small below 0.0044" in text
    assert "not none; only an upper bound can be given" in text


def test_the_rig_stands_beside_the_methods(database: Path):
    text = said(database, RIG, study(block(WIDE)))
    assert "rig, run 1 11 1 " in text
    assert "Rig check: run 1, the last one of bench before run 2." in text


def test_without_a_rig_check_it_says_how_to_get_one(database: Path):
    text = said(database, study(block(WIDE)))
    assert "There is no rig check to take out" in text
    assert "hostctl run rig-check --machine bench" in text


def test_a_rig_check_without_a_spread_is_none(database: Path):
    one = block([0.01], method="rig-check", operator="")
    touch = KeptRun(new=a_run("rig-check", "datum"), blocks=[one], with_zeros=False)
    assert "There is no rig check to take out" in said(database, touch, study(block(WIDE)))


def test_smallest_and_largest_spread_are_named(database: Path):
    text = said(database, study(block(WIDE), block(NARROW, method="light")))
    assert "The smallest spread found is that of light by volunteer-a" in text
    assert "the largest that of paper-slip by volunteer-a" in text


def test_a_figure_that_may_be_the_rigs_own_is_said_to_be_so(database: Path):
    text = said(database, RIG, study(block(NARROW), block(WIDE, method="light")))
    assert "Not told apart from the rig itself: paper-slip by volunteer-a." in text
    alone = said(database.with_name("alone.sqlite"), RIG, study(block(NARROW)))
    assert "not distinguishable from the rig" in alone


@pytest.mark.parametrize(
    ("values", "says"),
    [
        (WIDE[:1], "With 2 settings a standard deviation is hardly an estimate"),
        (NARROW[:3], "With 4 settings a standard deviation is hardly an estimate"),
        (NARROW[:6], "With 7 settings a standard deviation is uncertain by a quarter or more"),
    ],
)
def test_few_readings_come_with_a_caution(database: Path, values: list[float], says: str):
    assert says in said(database, study(block(values)))


@pytest.mark.parametrize(
    ("reference", "says"),
    [
        ("first", "not whether they are too high or too low"),
        ("first", "the readings, and each block's zero, which is one too."),
        ("previous", "n counts settings, s is that of one; the readings are differences of two."),
        ("datum", "n counts readings."),
        ("datum", "Readings count from a datum, so being off it counts in the verdict too."),
    ],
)
def test_what_the_readings_count_from_is_said(database: Path, reference: str, says: str):
    assert says in said(database, study(block(NARROW), reference=reference))


def test_what_was_left_out_is_said(database: Path):
    run = study(block(NARROW), block(WIDE), void={1: "zero lost"}, skipped=1)
    text = said(database, run)
    assert "Left out, and kept on record: 10 readings and their zero (zero lost)." in text
    assert "Trials skipped: 1." in text


@pytest.mark.parametrize(
    ("values", "with_zeros", "says"),
    [
        ([0.01], True, "1 reading and its zero (redo)"),
        ([], True, "1 zero (redo)"),
        ([0.01, 0.02], False, "2 readings (redo)"),
    ],
)
def test_readings_and_zeros_left_out_are_told_apart(
    database: Path, values: list[float], with_zeros: bool, says: str
):
    reference = "first" if with_zeros else "datum"
    run = study(block(NARROW), block(values), void={1: "redo"}, reference=reference)
    assert f"Left out, and kept on record: {says}." in said(database, run)


def test_each_reason_is_told_with_what_it_voided(database: Path):
    run = study(block(NARROW), block([0.01]), block([0.02]), void={1: "redo", 2: "zero lost"})
    assert (
        "Left out, and kept on record: 1 reading and its zero (redo), 1 reading and its zero (zero "
        "lost)." in said(database, run)
    )


def test_a_rig_check_is_named_without_an_operator(database: Path):
    rig = KeptRun(
        new=a_run("rig-check"), blocks=[block([0.0, 0.01, 0.0], method="rig-check", operator="")]
    )
    text = said(database, rig)
    assert "rig-check: all readings fall on two neighbouring graduations" in text
    assert "This is what the rig itself adds to every reading." in text


def test_a_run_that_stopped_early_says_so(database: Path):
    run = study(block(NARROW), end="ended on terminal", complete=False)
    assert "The run is not complete (ended on terminal)" in said(database, run)


def test_a_run_without_readings_has_no_verdict(database: Path):
    text = said(database, study())
    assert "No reading of it counts yet, so there is nothing to judge." in text
    assert "run 1: A small study · small on bench" in text


def test_a_run_whose_readings_are_all_void_lists_them(database: Path):
    keep(database, study(block(NARROW), void={0: "redo"}))
    text = shown(database, 1, readings=True)[0]
    assert "there is nothing to judge" in text
    assert text.count("void: redo") == len(NARROW) + 1


def test_readings_off_the_grid_give_a_reason_instead_of_a_figure(database: Path):
    text = said(database, study(block([0.0137, 0.0021, 0.008])))
    assert "not yet" in text
    assert "No spread for paper-slip by volunteer-a" in text


def test_no_line_is_wider_than_a_terminal(database: Path):
    run = study(block(WIDE), block(NARROW, method="contact-light"))
    keep(database, RIG, run)
    assert max(len(line) for line in shown(database, 2, readings=True)[0].splitlines()) <= 80
    assert re.search(r"^paper-slip +volunteer-a +11 +1 ", shown(database, 2)[0], re.MULTILINE)
