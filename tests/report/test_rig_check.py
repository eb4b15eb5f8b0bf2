"""Which rig check a run is judged by: one rule, and what is said where none fits well."""

from dataclasses import replace

import pytest
from stored_rows import A_RUN, NOON

from hostctl.report.sources.rig_check import RigChoice, choose, misfits
from hostctl.store.rows import RunSummary, Surroundings

FITS = Surroundings(counting=20, points=frozenset({"front-left"}), bed_c=21.0)
FEW = replace(FITS, counting=3)
WARM = replace(FITS, bed_c=60.0)
ELSEWHERE = replace(FITS, points=frozenset({"back-right"}))
RUN = 4


def summary(run: int, kind: str) -> RunSummary:
    return RunSummary(
        run=run,
        new=replace(A_RUN, kind=kind),
        readings=21,
        void=0,
        ended_at=NOON,
        complete=True,
        end_reason="",
    )


def chosen(checks: dict[int, Surroundings], run: Surroundings = FITS) -> RigChoice | None:
    runs = [summary(number, "rig-check") for number in checks]
    return choose(runs, summary(RUN, "comparison"), {**checks, RUN: run})


@pytest.mark.parametrize(
    ("checks", "run", "why"),
    [
        ({1: FITS}, 1, "the last one of workshop-220 before run 4"),
        ({1: FITS, 3: FITS}, 3, "the last one of workshop-220 before run 4"),
        ({1: FITS, 5: FITS}, 1, "the last one of workshop-220 before run 4"),
        ({5: FITS, 7: FITS}, 5, "the first one of workshop-220 after run 4"),
        ({1: FITS, 3: FEW}, 1, "since run 3, which is nearer, has only 3 readings"),
        (
            {1: FITS, 3: WARM},
            1,
            "since run 3, which is nearer, was read on a bed of 60 °C, the run at 21 °C",
        ),
        (
            {1: FITS, 3: ELSEWHERE},
            1,
            "since run 3, which is nearer, was read at back-right, the run at front-left",
        ),
        ({3: FEW, 7: FITS}, 7, "since run 3, which is nearer, has only 3 readings"),
        ({1: replace(WARM, counting=3), 3: FEW}, 3, "the last one of workshop-220 before run 4"),
    ],
)
def test_the_check_that_fits_best_is_chosen_and_why_is_said(
    checks: dict[int, Surroundings], run: int, why: str
):
    choice = chosen(checks)
    assert choice is not None
    assert (choice.run, choice.why) == (run, f"Rig check: run {run}, {why}.")


def test_one_that_fits_raises_no_doubt():
    choice = chosen({3: FITS})
    assert choice is not None
    assert choice.doubts == ()


def test_where_all_fit_badly_each_misfit_of_the_one_taken_is_told():
    choice = chosen({7: replace(WARM, counting=1, points=frozenset({"back-right"}))})
    assert choice is not None
    assert choice.doubts == (
        "As a rig check run 7 fits badly: it has only 1 reading; it was read on a bed of 60 °C, "
        "the run at 21 °C; it was read at back-right, the run at front-left; it was made after the "
        "run, and the mount may have changed between.",
    )


@pytest.mark.parametrize("checks", [{}, {3: replace(FITS, counting=0)}])
def test_without_a_check_that_has_readings_there_is_none(checks: dict[int, Surroundings]):
    assert chosen(checks) is None


@pytest.mark.parametrize(
    ("check", "run"),
    [
        (replace(FITS, counting=10), FITS),
        (replace(FITS, bed_c=None), WARM),
        (FITS, replace(FITS, bed_c=None)),
        (replace(FITS, bed_c=31.0), FITS),
        (FITS, replace(FITS, points=frozenset({"back", "front-left"}))),
        (WARM, None),
    ],
)
def test_what_is_near_enough_or_not_known_is_no_misfit(
    check: Surroundings, run: Surroundings | None
):
    assert misfits(check, run) == []
