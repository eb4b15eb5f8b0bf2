"""Every reading of a run as a table, in the order in which they were stored."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from itertools import count

from a_place import A_PLACE

from hostctl.records import Position, Reading, Temperatures
from hostctl.report.analysis.told.readings import readings_table
from hostctl.report.document.as_html import as_html
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import Document
from hostctl.store.rows import (
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


def document(run: RunRecord) -> Document:
    return Document(title="Readings", blocks=(readings_table(run),))


def listed(run: RunRecord) -> str:
    return as_text(document(run))


def told(text: str) -> str:
    return " ".join(text.split())


def test_the_table_of_readings_shows_void_ones_with_their_reason():
    text = listed(record(block(1, [0.02], void="redo was said")))
    assert text.count("void: redo was said") == 2
    assert " +0.02\n" in text


def test_the_table_of_readings_counts_from_the_zero_where_that_is_not_0():
    assert "from 0" not in listed(record(block(1, [0.02])))
    counted = listed(record(block(1, [0.02], zero_mm=0.01)))
    assert "from 0" in counted
    assert "+0.03" in counted
    assert "+0.02" in counted


def test_the_table_of_readings_fits_a_terminal_and_shows_no_empty_column():
    hands = {"method": "contact-light", "operator": "volunteer-a", "zero_mm": 0.01}
    why = "typed, but its place and heat could not be proved: the line to the machine went down"
    text = listed(record(block(1, NARROW, **hands), block(2, WIDE, void=why, **hands)))
    assert max(map(len, text.splitlines())) <= 80
    assert f"void: {why}" in told(text)
    assert re.search(r"^09:00:00 +1 +zero +front-left", text, re.MULTILINE)
    rig = listed(record(block(1, NARROW, method="", operator="")))
    assert "operator" not in rig
    assert "point" in rig


def test_a_page_shows_why_a_reading_is_void_below_it():
    run = record(block(1, [0.02], void="redo was said"))
    assert as_html(document(run)).count('<tr class="note"><td colspan="7">void: redo was said') == 2
    assert as_markdown(document(run)).count("| void: redo was said |") == 2
