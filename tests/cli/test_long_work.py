"""What is said while long work goes on; elapsed time is a number that the test sets."""

import io

import pytest

from hostctl.cli.long_work import CLEAR_LINE, LongWork

SHARES = {"Reading": 1.0, "Analysing": 3.0, "Drawing": 2.0}


class Clock:
    """Elapsed seconds."""

    at_s = 0.0

    def __call__(self) -> float:
        return self.at_s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def work(clock: Clock) -> LongWork:
    return LongWork(SHARES, shown=False, clock=clock)


def test_nothing_is_foretold_before_a_stage_has_shown_the_pace(work: LongWork):
    assert work.left_s("Reading", 4.0) is None
    assert work.line("Reading", 4.0) == "Reading …"


def test_what_is_left_follows_from_the_pace_so_far(work: LongWork, clock: Clock):
    with work.stage("Reading"):
        clock.at_s = 2.0  # twice the share
    assert work.left_s("Analysing", 0.0) == pytest.approx(2.0 * (3.0 + 2.0))
    assert work.left_s("Analysing", 4.0) == pytest.approx(2.0 * (3.0 + 2.0) - 4.0)
    assert work.line("Analysing", 4.0) == "Analysing … about 6 s left"


def test_a_stage_that_takes_longer_than_foretold_leaves_the_others(work: LongWork, clock: Clock):
    with work.stage("Reading"):
        clock.at_s = 2.0
    assert work.left_s("Analysing", 60.0) == pytest.approx(2.0 * 2.0)
    with work.stage("Analysing"):
        clock.at_s = 8.0
    assert work.line("Drawing", 100.0) == "Drawing … about 1 s left"


def test_the_line_is_cleared_even_when_work_breaks_off():
    out = io.StringIO()
    work = LongWork(SHARES, shown=True, out=out)
    with pytest.raises(KeyboardInterrupt), work.stage("Reading"):
        raise KeyboardInterrupt
    assert out.getvalue().endswith(CLEAR_LINE)
