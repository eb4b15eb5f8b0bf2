"""A bouncing contact gives one press a push, whatever the bounce."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.channels.button.presses import Contact, Length, Press

DEBOUNCE_S, LONG_S = 0.03, 1.0


def contact(closed_s: float | None = None) -> Contact:
    return Contact(debounce_s=DEBOUNCE_S, long_press_s=LONG_S, closed_s=closed_s)


def presses(edges: list[tuple[float, bool]], *, until_s: float, start: Contact) -> list[Press]:
    told: list[Press] = []
    for at_s, closed in edges:
        told += start.edge(closed=closed, at_s=at_s)
    return told + start.tick(until_s)


@pytest.mark.parametrize(
    ("edges", "told"),
    [
        ([(1.0, True), (1.2, False)], [Press(length=Length.SHORT, began_s=1.0)]),
        ([(1.0, True), (2.5, False)], [Press(length=Length.LONG, began_s=1.0)]),
        ([(1.0, True)], [Press(length=Length.LONG, began_s=1.0)]),
        ([(1.0, True), (1.01, False)], []),
        (
            [(1.0, True), (1.005, False), (1.01, True), (1.2, False), (1.21, True), (1.22, False)],
            [Press(length=Length.SHORT, began_s=1.01)],
        ),
        (
            [(1.0, True), (1.1, False), (1.2, True), (1.3, False)],
            [Press(length=Length.SHORT, began_s=1.0), Press(length=Length.SHORT, began_s=1.2)],
        ),
    ],
    ids=["short", "long", "still down", "a spike", "bouncing", "two presses"],
)
def test_edges_become_presses(edges: list[tuple[float, bool]], told: list[Press]) -> None:
    assert presses(edges, until_s=5.0, start=contact()) == told


def test_a_long_press_is_told_while_the_button_is_still_down() -> None:
    button = contact()
    button.edge(closed=True, at_s=1.0)
    button.tick(1.0 + DEBOUNCE_S)
    assert button.due_s == 1.0 + LONG_S
    assert button.tick(1.0 + LONG_S) == [Press(length=Length.LONG, began_s=1.0)]
    assert button.edge(closed=False, at_s=3.0) == []
    assert button.tick(4.0) == []


def test_a_button_found_pressed_has_to_be_let_go_before_it_counts() -> None:
    told = presses([(1.0, False), (2.0, True), (2.2, False)], until_s=5, start=contact(0.0))
    assert told == [Press(length=Length.SHORT, began_s=2.0)]


def test_nothing_is_due_at_rest() -> None:
    assert contact().due_s is None


@given(bounces=st.lists(st.floats(0.0001, DEBOUNCE_S * 0.9), max_size=12))
def test_any_bounce_shorter_than_the_debounce_time_is_one_press(bounces: list[float]) -> None:
    at_s, closed, edges = 1.0, True, [(1.0, True)]
    for pause_s in bounces:
        at_s, closed = at_s + pause_s, not closed
        edges.append((at_s, closed))
    edges += [] if closed else [(at_s + DEBOUNCE_S / 2, True)]
    edges.append((edges[-1][0] + 0.3, False))
    told = presses(edges, until_s=edges[-1][0] + 1, start=contact())
    assert [press.length for press in told] == [Length.SHORT]
