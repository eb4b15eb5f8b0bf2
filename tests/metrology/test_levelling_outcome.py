"""What turning did, and the verdict: each mistake is told, sound rounds seldom are."""

from dataclasses import replace

import numpy as np
import pytest
from simulated_beds import SCREWS_AT, Bed

from hostctl.metrology.levelling.advice import Screw, advise
from hostctl.metrology.levelling.outcome import Noticed, outcome
from hostctl.metrology.levelling.standing import Verdict, stand

GRID = np.array([(x, y) for y in (20.0, 110.0, 200.0) for x in (20.0, 110.0, 200.0)])


def bed(count=3, seed=1, tilt=0.6, **more):
    """On screws, tilted towards a corner, read to 0.001 mm."""
    at = np.array(SCREWS_AT[count], dtype=float)
    along = at @ np.array([0.8, 0.6])
    given = {
        "soft": False,
        "scatter": 0.003,
        "resolution": 0.001,
        "play": 0.0,
        "too_far": 0.1,
        "homing_sd": 0.01,
        "largest_mm": np.inf,
    } | more
    return Bed(
        rng=np.random.default_rng(seed),
        screws=[
            Screw(name=f"s{k}", x_mm=x, y_mm=y, pitch_mm=0.7)
            for k, (x, y) in enumerate(at.tolist())
        ],
        offsets=tilt * (along - along.mean()) / np.ptp(along),
        points=GRID,
        own_shape=0.05 * ((GRID - 110.0) / 90.0).prod(axis=1),
        **given,
    )


def after(one, change, **more):
    """Measured, turned by what a person makes of the advice, measured again."""
    heights = one.measure()
    advice = one.advice(heights)
    one.turn(change(advice.raises_mm.copy()))
    again = one.measure(heights, **more)
    return heights, advice, again, outcome(heights, advice, again)


def scaled(place, share):
    def change(raises):
        raises[place] *= share
        return raises

    return change


def test_turned_as_advised():
    *_, told = after(bed(), lambda raises: raises)
    assert told.as_advised
    for one in told.moved:
        assert one.moved_mm == pytest.approx(one.expected_mm, abs=3 * one.u_mm)


@pytest.mark.parametrize("count", [3, 4, 6])
def test_all_the_other_way(count):
    *_, told = after(bed(count), lambda raises: -raises)
    assert told.all_other_way
    assert {one.noticed for one in told.moved} == {Noticed.OTHER_WAY}


@pytest.mark.parametrize(
    ("share", "noticed"),
    [
        (-1.0, Noticed.OTHER_WAY),
        (0.0, Noticed.NOT_TURNED),
        (0.5, Noticed.SHORT),
        (1.6, Noticed.FAR),
    ],
)
def test_one_screw_on_its_own(share, noticed):
    *_, told = after(bed(), scaled(2, share))
    assert [one.noticed for one in told.moved] == [Noticed.NOTHING, Noticed.NOTHING, noticed]
    assert not told.jumped
    assert told.sure or share == 0.5


def test_a_fixed_corner_is_never_taken_for_a_screw():
    """The third is held: whatever goes wrong is told of the two that turn."""
    for change in (scaled(0, -1.0), scaled(1, 0.0), lambda raises: -raises):
        one = bed(3)
        held = replace(one.screws[2], can_raise_mm=0.0, can_lower_mm=0.0)
        one.screws[2:] = [held]
        corner = held.x_mm, held.y_mm
        heights = one.measure()
        advice = advise(heights, one.screws, keep=corner)
        assert advice.raises_mm[2] == 0.0
        one.turn(change(advice.raises_mm.copy()))
        told = outcome(heights, advice, one.measure(heights))
        assert told.moved[2].noticed is Noticed.NOTHING
        assert not told.as_advised


def test_another_screw_instead():
    def change(raises):
        return np.array([raises[0] + raises[2], raises[1], 0.0])

    *_, told = after(bed(), change)
    assert [(one.noticed, one.instead_of) for one in told.moved] == [
        (Noticed.INSTEAD, "s2"),
        (Noticed.NOTHING, ""),
        (Noticed.NOT_TURNED, ""),
    ]


def test_opposite_screws_mistaken_alike_are_not_told_apart_surely():
    """Of four, the one at the back turned for the front or the one across: the same tilt."""
    one = bed(4)
    *_, told = after(one, lambda raises: np.array([0.0, raises[1] + raises[0], *raises[2:]]))
    assert not told.as_advised
    assert not told.sure


def test_an_indicator_bumped_between_rounds():
    *_, told = after(bed(4), lambda raises: raises, bump=(0, 0.5))
    assert told.jumped
    assert told.shift_mm == pytest.approx(0.5, abs=0.1)


def test_homing_apart_by_a_little_is_no_jump():
    *_, told = after(bed(4), lambda raises: raises, bump=(0, 0.05))
    assert told.as_advised


def test_a_pattern_that_no_screws_make():
    one = bed(3)
    heights = one.measure()
    advice = one.advice(heights)
    one.turn(advice.raises_mm)
    one.own_shape = one.own_shape + 0.2 * (np.arange(9) == 4)
    assert outcome(heights, advice, one.measure()).jumped


def test_a_soft_plate_bends_with_a_wrong_turn_and_that_is_no_jump():
    *_, told = after(bed(4, soft=True), scaled(2, 0.0))
    assert not told.jumped
    assert told.moved[2].noticed is Noticed.NOT_TURNED


def test_rounds_of_other_points_are_refused():
    one = bed()
    heights = one.measure()
    advice = one.advice(heights)
    one.points, one.own_shape = GRID[:6], one.own_shape[:6]
    with pytest.raises(ValueError, match="different points"):
        outcome(heights, advice, one.measure())


def verdict(one, within_mm=0.05):
    heights = one.measure()
    return stand(heights, one.advice(heights), within_mm=within_mm).verdict


def test_verdicts_of_a_first_round():
    assert verdict(bed(tilt=0.6)) is Verdict.TURN
    assert verdict(bed(tilt=0.01)) is Verdict.WITHIN_TOLERANCE
    assert verdict(bed(tilt=0.01), within_mm=0.001) is Verdict.WITHIN_RIG
    assert verdict(bed(tilt=0.06, scatter=0.05)) is Verdict.WITHIN_RIG


def test_out_of_travel():
    one = bed()
    one.screws = [
        Screw(name=s.name, x_mm=s.x_mm, y_mm=s.y_mm, pitch_mm=0.7, can_raise_mm=0.1, can_lower_mm=0)
        for s in one.screws
    ]
    assert verdict(one) is Verdict.OUT_OF_TRAVEL


def test_a_knock_within_the_round_is_told_before_all_else():
    one = bed()
    heights = one.measure(bump=(12, 0.3))
    assert stand(heights, one.advice(heights), within_mm=9.0).verdict is Verdict.JUMPED


def test_no_better():
    """Turned as advised, as far as anybody can tell, and the tilt is what it was."""
    one = bed(tilt=0.08, scatter=0.004)
    heights = one.measure()
    advice = one.advice(heights)
    first = stand(heights, advice, within_mm=0.001)
    assert first.verdict is Verdict.TURN
    told = outcome(heights, advice, _turned(one, advice.raises_mm))
    assert told.as_advised
    again = stand(heights, advice, within_mm=0.001, before=first, outcome=told)
    assert again.verdict is Verdict.NO_BETTER


def _turned(one, raises):
    one.turn(raises)
    return one.measure()


def test_what_no_screw_can_mend():
    one = bed(scatter=0.0, resolution=0.0)
    heights = one.measure()
    standing = stand(heights, one.advice(heights), within_mm=0.05)
    assert standing.shape.twist.value == pytest.approx(0.05)
    assert standing.shape.bow.value == pytest.approx(0.0, abs=1e-9)
    assert standing.zone.width == pytest.approx(0.1, abs=1e-6)
