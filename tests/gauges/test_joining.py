"""Open, closed, open: the proof that a contact tells, as a hand joins and parts the leads."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.errors import MachineError
from hostctl.gauges.joining import Joining

WHERE = "machine 'bench'"


def after(*looks: bool) -> Joining:
    joining = Joining(where=WHERE)
    for closed in looks:
        joining = joining.saw(closed=closed)
    return joining


@pytest.mark.parametrize(
    ("looks", "wants_closed"),
    [
        ((), False),
        ((False,), True),
        ((False, False, False), True),  # the hand takes its time
        ((False, True), False),
        ((False, True, True), False),
        ((False, True, False), None),
        ((False, True, False, True), None),
    ],
)
def test_what_must_be_seen_next(looks, wants_closed):
    assert after(*looks).wants_closed is wants_closed
    assert after(*looks).proven == (wants_closed is None)


def test_closed_before_the_leads_are_joined_is_a_fault():
    with pytest.raises(MachineError, match=r"before the leads are joined.*stuck"):
        after(True)


@given(st.lists(st.booleans(), max_size=12))
def test_it_is_proven_exactly_where_a_change_to_closed_and_back_was_seen(looks: list[bool]):
    came_back = True in looks and False in looks[looks.index(True) :]
    assert after(False, *looks).proven == came_back
