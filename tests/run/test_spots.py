"""Trials ticked off: as a plain set has them, in far less room."""

import sys

from hypothesis import given
from hypothesis import strategies as st

from hostctl.run.record.spots import Spot, Spots

A_SPOT = st.tuples(st.integers(1, 3), st.integers(0, 12))


@given(st.lists(st.tuples(st.booleans(), A_SPOT)))
def test_it_holds_what_a_set_would_hold(done: list[tuple[bool, Spot]]):
    spots, plain = Spots(), set[Spot]()
    for ticked, spot in done:
        (spots.add if ticked else spots.discard)(spot)
        (plain.add if ticked else plain.discard)(spot)
        assert sorted(spots) == sorted(plain)
        assert len(spots) == len(plain)
        assert all((spot in spots) == (spot in plain) for spot in [(1, 0), (2, 5), (3, 12)])
        assert spots.blocks() == {block for block, _ in plain}
        for block in (1, 2, 3):
            of = sorted(each for each in plain if each[0] == block)
            assert (spots.of(block), spots.count(block)) == (of, len(of))


def test_ten_thousand_in_order_take_no_more_room_than_ten():
    few, many = Spots(), Spots()
    for spots, trials in ((few, 10), (many, 10_000)):
        for trial in range(1, trials + 1):
            spots.add((1, trial))
    held = [sys.getsizeof(spots._stretches) + sys.getsizeof(spots._apart) for spots in (few, many)]
    assert held[0] == held[1]
    assert (1, 10_000) in many
    assert (1, 10_001) not in many
    assert "trial" not in many.seen()
