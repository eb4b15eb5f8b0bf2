"""The first verdict: which readings count, what they come to, and what a reader is told."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count
from statistics import stdev

import pytest
from a_place import A_PLACE

from hostctl.records import Position, Reading, Temperatures
from hostctl.report.analysis.first_figures import figures_of
from hostctl.report.analysis.readings_table import readings_table
from hostctl.report.analysis.verdict import verdict_text
from hostctl.report.sources.samples import samples_of
from hostctl.store.rows import (
    NewMark,
    NewReading,
    NewRun,
    RunRecord,
    RunSummary,
    StoredReading,
)

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def summary(run: int = 1, *, kind: str = "comparison", reference: str = "first") -> RunSummary:
    return RunSummary(
        run=run,
        new=NewRun(
            study="small",
            title="A small study",
            kind=kind,
            machine="bench",
            reference=reference,
            study_text="",
            machine_text="",
            seed=1,
            started_at=NOW,
            program="hostctl 0",
        ),
        readings=10,
        void=0,
        ended_at=NOW,
        complete=True,
        end_reason="all trials are done",
    )


def block(
    number: int,
    values_mm: Sequence[float],
    *,
    method: str = "paper-slip",
    operator: str = "volunteer-a",
    void: str | None = None,
    zero_mm: float = 0.0,
) -> list[StoredReading]:
    """A block's zero and its readings; `zero_mm`: what the indicator showed at the zero."""
    return [
        StoredReading(
            reading_id=100 * number + trial,
            stored_at=NOW,
            kept=NewReading(
                place=replace(
                    A_PLACE,
                    block=number,
                    trial=trial,
                    method=method,
                    operator=operator,
                    trials_total=9,
                ),
                is_zero=trial == 0,
                reading=Reading(
                    value_mm=zero_mm + value_mm,
                    resolution_mm=0.01,
                    taken_at=NOW + timedelta(seconds=trial),
                    source="typed",
                    at=Position(x_mm=0, y_mm=0, z_mm=5),
                    temperatures=Temperatures(),
                ),
                prompted_at=NOW,
                answered_at=NOW,
                channel="terminal",
            ),
            void=void,
            relative_mm=value_mm,
        )
        for trial, value_mm in zip(count(), (0.0, *values_mm), strict=False)
    ]


def record(*blocks: list[StoredReading], **of_summary: str) -> RunRecord:
    return RunRecord(
        summary=summary(**of_summary),  # type: ignore[arg-type]  # words only
        readings=[reading for each in blocks for reading in each],
        marks=[],
        events=[],
    )


WIDE = [0.20, -0.15, 0.31, -0.22, 0.08, -0.27, 0.12, 0.02, -0.11, 0.17]
NARROW = [0.01, -0.01, 0.02, 0.00, -0.02, 0.01, 0.00, 0.02, -0.01, 0.00]
ALIKE = [0.0] * 9


def told(text: str) -> str:
    return " ".join(text.split())


def test_void_readings_and_zeros_are_no_readings():
    (sample,) = samples_of(record(block(1, NARROW), block(2, WIDE, void="redo")))
    assert sample.blocks == (tuple(NARROW),)


def test_blocks_of_the_same_hands_are_pooled_and_others_kept_apart():
    samples = samples_of(
        record(block(1, NARROW), block(2, WIDE), block(3, WIDE, operator="volunteer-b"))
    )
    assert [(each.operator, len(each.blocks)) for each in samples] == [
        ("volunteer-a", 2),
        ("volunteer-b", 1),
    ]


def test_a_wide_spread_agrees_with_the_ordinary_standard_deviation():
    (sample,) = samples_of(record(block(1, WIDE)))
    figures = figures_of(sample, "first")
    assert figures.reach_mm == pytest.approx(stdev([0.0, *WIDE]), rel=0.01)  # Python's statistics
    assert figures.range_mm == pytest.approx(0.58)
    assert figures.mean_mm == pytest.approx(sum(WIDE) / len(WIDE))


def test_alike_readings_get_the_upper_bound_that_the_rounding_allows():
    # 0.0039 mm for 10 alike readings at 0.01 mm: the project's own convention; 9 and a zero
    text = verdict_text(record(block(1, ALIKE)), None)
    assert "small below 0.0039" in told(text)
    assert "not none; only an upper bound can be given" in told(text)


def test_the_rig_stands_beside_the_methods():
    rig = record(block(1, ALIKE, method="rig-check", operator=""), kind="rig-check")
    text = verdict_text(record(block(1, WIDE)), rig)
    assert "rig, run 1" in text
    assert "The rig alone, nothing adjusted, stays below s = 0.0039 mm." in told(text)


def test_without_a_rig_check_it_says_how_to_get_one():
    text = told(verdict_text(record(block(1, WIDE)), None))
    assert "No rig check of bench is on record" in text
    assert "hostctl run rig-check --machine bench" in text


def test_methods_are_ranked_for_each_pair_of_hands():
    text = told(verdict_text(record(block(1, WIDE), block(2, NARROW, method="light")), None))
    assert "In the hands of volunteer-a, light has the smallest spread" in text
    assert "Its interval lies below the others'" in text


def test_methods_that_overlap_are_not_told_apart():
    text = told(verdict_text(record(block(1, WIDE), block(2, WIDE[::-1], method="light")), None))
    assert "this table does not tell it from" in text


def test_a_figure_within_the_rigs_own_is_said_to_be_so():
    rig = record(block(1, NARROW, method="rig-check", operator=""), kind="rig-check")
    text = told(verdict_text(record(block(1, NARROW)), rig))
    assert "Not told apart from the rig itself: paper-slip by volunteer-a." in text


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (NARROW[:1], "With 1 reading a standard deviation is hardly an estimate"),
        (NARROW[:3], "With 3 readings a standard deviation is hardly an estimate"),
        (NARROW[:6], "With 6 readings a standard deviation is uncertain by a quarter or more"),
    ],
)
def test_few_readings_come_with_a_caution(values: list[float], said: str):
    assert said in told(verdict_text(record(block(1, values)), None))


@pytest.mark.parametrize(
    ("reference", "said"),
    [
        ("first", "not whether they are too high or too low"),
        ("first", "each block's zero, which is one too; mean is that of the readings."),
        ("previous", "Readings are differences of two settings; s is that of one setting."),
        ("datum", "n counts readings, each from the datum."),
    ],
)
def test_what_the_readings_count_from_is_said(reference: str, said: str):
    assert said in told(verdict_text(record(block(1, NARROW), reference=reference), None))


def test_what_was_left_out_is_said():
    run = record(block(1, NARROW), block(2, WIDE, void="zero lost"))
    skipped = NewMark(
        run=1, block=1, round=1, trial=4, attempt=1, mark="skipped", reason="said", at=NOW
    )
    text = told(verdict_text(replace(run, marks=[skipped]), None))
    assert "Left out, and kept on record: 10 readings and their zero (zero lost)." in text
    assert "Skipped trials: 1." in text


@pytest.mark.parametrize(
    ("values", "voids", "said"),
    [
        ([0.01], [0, 1], "1 reading and its zero (redo)"),
        ([0.01], [0], "1 zero (redo)"),
        ([0.01, 0.02], [1, 2], "2 readings (redo)"),
    ],
)
def test_readings_and_zeros_left_out_are_told_apart(
    values: list[float], voids: list[int], said: str
):
    stored = block(2, values)
    marked = [replace(each, void="redo" if k in voids else None) for k, each in enumerate(stored)]
    text = told(verdict_text(record(block(1, NARROW), marked), None))
    assert f"Left out, and kept on record: {said}." in text


def test_a_rig_check_is_named_without_an_operator():
    rig = record(block(1, [0.0, 0.01, 0.0], method="rig-check", operator=""), kind="rig-check")
    text = told(verdict_text(rig, None))
    assert "rig-check: all readings fall on two neighbouring graduations" in text


def test_a_run_that_stopped_early_says_so():
    run = record(block(1, NARROW))
    early = replace(run.summary, complete=False, end_reason="ended on terminal")
    text = verdict_text(replace(run, summary=early), None)
    assert "The run is not complete (ended on terminal)" in told(text)


def test_a_run_without_readings_has_no_verdict():
    assert "nothing to judge" in verdict_text(record(), None)


def test_readings_off_the_grid_give_a_reason_instead_of_a_figure():
    text = verdict_text(record(block(1, [0.0137, 0.0021, 0.008])), None)
    assert "not yet" in text
    assert "No spread for paper-slip by volunteer-a" in told(text)


def test_the_table_of_readings_shows_void_ones_with_their_reason():
    text = readings_table(record(block(1, [0.02], void="redo was said")))
    assert text.count("void: redo was said") == 2
    assert " +0.02\n" in text


def test_the_table_of_readings_counts_from_the_zero_where_that_is_not_0():
    assert "from 0" not in readings_table(record(block(1, [0.02])))
    counted = readings_table(record(block(1, [0.02], zero_mm=0.01)))
    assert "from 0" in counted
    assert "+0.03" in counted
    assert "+0.02" in counted


def test_the_table_of_readings_fits_a_terminal_and_shows_no_empty_column():
    hands = {"method": "contact-light", "operator": "volunteer-a", "zero_mm": 0.01}
    why = "typed, but its place and heat could not be proved: the line to the machine went down"
    text = readings_table(record(block(1, NARROW, **hands), block(2, WIDE, void=why, **hands)))
    assert max(map(len, text.splitlines())) <= 80
    assert f"void: {why}" in told(text)
    assert re.search(r"^09:00:00 +1 +zero +front-left", text, re.MULTILINE)
    rig = readings_table(record(block(1, NARROW, method="", operator="")))
    assert "operator" not in rig
    assert "point" in rig


def test_no_line_is_wider_than_a_terminal():
    rig = record(block(1, NARROW, method="rig-check", operator=""), kind="rig-check")
    text = verdict_text(record(block(1, WIDE), block(2, NARROW, method="contact-light")), rig)
    assert max(len(line) for line in text.splitlines()) <= 80
