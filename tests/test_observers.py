"""Several observers of one thing: each is told, and none can keep another from being told."""

import logging

import pytest

from hostctl.errors import LinkError
from hostctl.observers import Observers

pytestmark = pytest.mark.observer_may_fail


def test_two_observers_both_hear_in_the_order_in_which_they_came():
    heard: list[tuple[str, int]] = []
    observers: Observers[int] = Observers()
    observers.add(lambda what: heard.append(("first", what)))
    observers.add(lambda what: heard.append(("second", what)))

    observers.tell(7)

    assert heard == [("first", 7), ("second", 7)]


def test_removing_one_leaves_the_other_be_they_alike_or_removed_twice():
    heard: list[str] = []
    observers: Observers[str] = Observers()
    remove = observers.add(heard.append)
    observers.add(heard.append)

    remove()
    remove()
    observers.tell("fault")

    assert heard == ["fault"]


def test_there_is_nobody_to_tell_once_all_are_removed():
    observers: Observers[[]] = Observers()
    assert not observers
    remove = observers.add(lambda: None)
    assert observers
    remove()
    assert not observers


def test_one_that_removes_itself_keeps_no_other_from_being_told():
    heard: list[str] = []
    observers: Observers[str] = Observers()
    remove = observers.add(lambda what: remove())
    observers.add(heard.append)

    observers.tell("once")

    assert heard == ["once"]


def test_one_that_fails_is_logged_and_the_next_is_told(caplog: pytest.LogCaptureFixture):
    heard: list[LinkError] = []
    fault = LinkError("bench", "the line went down", "Plug it in.")
    observers: Observers[LinkError] = Observers()
    observers.add(lambda what: 1 / 0)
    observers.add(heard.append)

    with caplog.at_level(logging.ERROR):
        observers.tell(fault)

    assert heard == [fault]
    assert "an observer failed" in caplog.text
    assert "ZeroDivisionError" in caplog.text
