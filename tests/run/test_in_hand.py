"""The readings of the block in hand: what counts of it, whatever is said about it later."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from a_place import A_PLACE

from hostctl.news import News, ReadingKept, RunFinished, TrialMarked
from hostctl.records import Position, Reading, Temperatures
from hostctl.run.record.in_hand import MOST_SHOWN, InHand, in_hand_after

PLACE = replace(A_PLACE, run=3, trials_total=9)


def kept(value_mm: float, trial: int, **changes: int) -> ReadingKept:
    return ReadingKept(
        reading_id=1,
        place=replace(PLACE, trial=trial, **changes),
        reading=Reading(
            value_mm=value_mm,
            resolution_mm=0.01,
            taken_at=datetime(2026, 11, 25, tzinfo=UTC),
            source="typed",
            at=Position(x_mm=5, y_mm=30, z_mm=5),
            temperatures=Temperatures(),
        ),
        relative_mm=None if trial == 0 else value_mm - 1,
        is_zero=trial == 0,
        channel="terminal",
    )


def void(trial: int, *, whole_block: bool = False, **changes: int) -> TrialMarked:
    place = replace(PLACE, trial=trial, **changes)
    return TrialMarked(place=place, mark="void", reason="said", whole_block=whole_block)


SKIPPED = TrialMarked(place=PLACE, mark="skipped", reason="said")
FINISHED = RunFinished(run=3, complete=True, reason="all trials are done")
ZERO, ONE, TWO = kept(1.0, 0), kept(1.25, 1), kept(0.5, 2)


@pytest.mark.parametrize(
    ("news", "readings_mm"),
    [
        pytest.param([ZERO], (), id="the zero is no reading"),
        pytest.param([ZERO, ONE, TWO], (0.25, -0.5), id="relative to the zero, newest last"),
        pytest.param([ZERO, ONE, TWO, void(1)], (-0.5,), id="a void one leaves"),
        pytest.param([ZERO, ONE, TWO, void(1), kept(1.5, 1)], (-0.5, 0.5), id="redone is newest"),
        pytest.param([ONE, TWO, void(3, whole_block=True)], (), id="a void block leaves at once"),
        pytest.param([ONE, TWO, void(1, block=2)], (0.25, -0.5), id="another block's mark"),
        pytest.param([kept(1.5, 1, round=2), void(1)], (0.5,), id="an older round's mark"),
        pytest.param([ONE, SKIPPED, FINISHED], (0.25,), id="skipping and the end take none away"),
        pytest.param([ONE, kept(1.5, 2, block=2)], (0.5,), id="another block begins anew"),
        pytest.param([ONE, kept(1.5, 2, round=2)], (0.5,), id="another round begins anew"),
        pytest.param([ONE, kept(1.5, 2, run=4)], (0.5,), id="another run begins anew"),
    ],
)
def test_what_counts_of_the_block_in_hand(news: list[News], readings_mm: tuple[float, ...]):
    held = InHand()
    for item in news:
        held = in_hand_after(held, item)
    assert held.readings_mm == readings_mm


def test_only_the_newest_are_held():
    held = InHand()
    for trial in range(1, MOST_SHOWN + 6):
        held = in_hand_after(held, kept(float(trial), trial))
    assert held.readings_mm == tuple(float(trial) for trial in range(5, MOST_SHOWN + 5))
