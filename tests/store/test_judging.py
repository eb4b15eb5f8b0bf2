"""What a reading is worth: relative to its zero, void or not; the same wherever it is read."""

from dataclasses import replace
from math import isnan
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from stored_rows import A_MARK, A_READING, A_RUN, NOON, reading_at

from hostctl.store import columns as store_columns
from hostctl.store.columns import read_columns
from hostctl.store.reading import read_record
from hostctl.store.rows import NewEvent
from hostctl.store.store import Store


@pytest.mark.parametrize(
    ("reference", "zero_mm", "value_mm", "relative_mm"),
    [
        ("first", 0.10, 0.12, 0.02),  # in binary 0.12 - 0.10 is 0.01999...9
        ("first", 0.10, 0.100000001, 1e-9),  # each 1e-9 mm, not each second one
        ("first", None, 0.12, None),
        ("datum", 1.00, 0.98, -0.02),
        ("datum", None, 0.12, 0.12),  # the gauge's own zero
        ("previous", 0.10, 0.12, 0.12),
        ("previous", None, 0.12, 0.12),
    ],
)
async def test_a_reading_is_relative_to_its_blocks_zero(
    store: Store,
    database: Path,
    reference: str,
    zero_mm: float | None,
    value_mm: float,
    relative_mm: float | None,
) -> None:
    run = await store.add_run(replace(A_RUN, reference=reference))
    zeros = [] if zero_mm is None else [zero_mm]
    for zero in zeros:
        await store.add_reading(reading_at(run=run, value_mm=zero, is_zero=True, trial=0))
    stored = await store.add_reading(reading_at(run=run, value_mm=value_mm))
    assert stored.relative_mm == relative_mm
    assert (await store.record(run)).readings[-1].relative_mm == relative_mm
    column = read_columns(database, run).relative_mm[-1]
    assert column == relative_mm or (relative_mm is None and isnan(column))


async def test_a_zero_taken_again_counts_from_then_on(store: Store) -> None:
    await store.add_reading(reading_at(value_mm=0.10, is_zero=True, trial=0))
    await store.add_reading(reading_at(value_mm=0.11, is_zero=True, trial=0, attempt=2))
    assert (await store.add_reading(reading_at(value_mm=0.12))).relative_mm == 0.01


@pytest.mark.parametrize("elsewhere", [{"block": 2}, {"round": 2}])
async def test_the_zero_of_another_block_or_round_is_none_of_ours(
    store: Store, elsewhere: dict[str, int]
) -> None:
    await store.add_reading(reading_at(value_mm=0.10, is_zero=True, trial=0))
    assert (await store.add_reading(reading_at(**elsewhere))).relative_mm is None


@pytest.mark.parametrize(
    ("trial", "attempt", "void_trials"),
    [
        (1, 1, [(1, 1)]),
        (1, None, [(1, 1), (1, 2)]),
        (None, None, [(0, 1), (1, 1), (1, 2), (2, 1)]),
    ],
)
async def test_a_mark_voids_an_attempt_a_trial_or_a_whole_round(
    store: Store,
    database: Path,
    trial: int | None,
    attempt: int | None,
    void_trials: list[tuple[int, int]],
) -> None:
    await store.add_reading(reading_at(trial=0, is_zero=True))
    for place in ({"trial": 1}, {"trial": 1, "attempt": 2}, {"trial": 2}, {"round": 2}):
        await store.add_reading(reading_at(**place))
    await store.add_mark(replace(A_MARK, trial=trial, attempt=attempt))
    record = await store.record(1)
    void = [one.kept.place for one in record.readings if one.void == "paper moved"]
    assert [(place.trial, place.attempt) for place in void] == void_trials
    assert record.summary.void == len(void_trials)
    assert sum(read_columns(database, 1).void) == len(void_trials)


async def test_a_skipped_trial_voids_no_reading(store: Store) -> None:
    await store.add_reading(A_READING)
    await store.add_mark(replace(A_MARK, mark="skipped"))
    assert (await store.record(1)).readings[0].void is None


async def test_the_first_reason_stands(store: Store) -> None:
    await store.add_reading(A_READING)
    await store.add_mark(A_MARK)
    await store.add_mark(replace(A_MARK, trial=None, attempt=None, reason="zero lost"))
    assert (await store.record(1)).readings[0].void == "paper moved"


@pytest.mark.parametrize(
    ("kinds", "ended", "complete"),
    [
        ([], False, False),
        (["hold"], False, False),
        (["ended"], True, True),
        (["ended", "resumed"], False, False),
        (["ended", "resumed", "ended"], True, True),
    ],
)
async def test_a_run_has_ended_unless_it_was_resumed_since(
    store: Store, kinds: list[str], ended: bool, complete: bool
) -> None:
    for kind in kinds:
        await store.add_event(
            NewEvent(run=1, at=NOON, kind=kind, text="all done", data='{"complete": true}')
        )
    (summary,) = await store.runs()
    assert summary.ended_at == (NOON if ended else None)
    assert summary.complete == complete
    assert summary.end_reason == ("all done" if ended else "")


async def test_runs_recorded_at_the_same_time_keep_their_own_zeros_and_voids(
    store: Store, database: Path
) -> None:
    other = await store.add_run(A_RUN)
    for trial in range(4):
        for run in (1, other):
            await store.add_reading(reading_at(run=run, trial=trial, is_zero=trial == 0))
    await store.add_mark(replace(A_MARK, run=other, trial=2))
    first, second = (read_columns(database, run) for run in (1, other))
    assert [*first.is_zero] == [*second.is_zero] == [1, 0, 0, 0]
    assert [*first.void] == [0, 0, 0, 0]
    assert [*second.void] == [0, 0, 1, 0]


values = st.floats(-1e6, 1e6)
places = st.tuples(st.integers(1, 3), st.integers(1, 2), st.integers(0, 3), st.booleans(), values)


@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    reference=st.sampled_from(["first", "datum", "previous"]),
    rows=st.lists(places, max_size=20, unique_by=lambda row: row[:4]),
    void=st.lists(st.tuples(st.integers(1, 3), st.none() | st.integers(0, 3)), max_size=3),
)
async def test_what_is_put_in_comes_back_equal_by_every_way_out(
    store: Store,
    database: Path,
    monkeypatch: pytest.MonkeyPatch,
    reference: str,
    rows: list[tuple[int, int, int, bool, float]],
    void: list[tuple[int, int | None]],
) -> None:
    monkeypatch.setattr(store_columns, "_ROWS_AT_ONCE", 3)  # several chunks, of one block or more
    run = await store.add_run(replace(A_RUN, reference=reference))
    given_ = [
        reading_at(run=run, block=b, round=r, trial=t, is_zero=z, value_mm=v)
        for b, r, t, z, v in rows
    ]
    for new in given_:
        await store.add_reading(new)
    for block, trial in void:
        mark = replace(A_MARK, run=run, block=block, trial=trial, attempt=None)
        await store.add_mark(mark)
    record, columns = read_record(database, run), read_columns(database, run)
    assert [one.kept for one in record.readings] == given_
    assert [*columns.value_mm] == [new.reading.value_mm for new in given_]
    assert [*columns.is_zero] == [new.is_zero for new in given_]
    assert [*columns.void] == [one.void is not None for one in record.readings]
    assert [None if isnan(value) else value for value in columns.relative_mm] == [
        one.relative_mm for one in record.readings
    ]
    assert [columns.groups[group].block for group in columns.group] == [
        new.place.block for new in given_
    ]
