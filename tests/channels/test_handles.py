"""File handles: the last ones are kept free, and the limit is raised as far as it may be."""

import os
import resource
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from hostctl.channels.handles import KEPT_FREE, OPEN_ONES, WANTED, are_short, raise_limit


@contextmanager
def limit(handles: int) -> Iterator[int]:
    """So many may be open, for a while; gives how many it could be raised to."""
    before, most = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (handles, most))
    try:
        yield most
    finally:
        resource.setrlimit(resource.RLIMIT_NOFILE, (before, most))


@pytest.mark.parametrize(("more", "short"), [(0, True), (-1, True), (1, False), (200, False)])
def test_they_are_short_when_only_those_are_left_that_are_kept_free(more: int, short: bool):
    with os.scandir(OPEN_ONES) as found:
        in_use = sum(1 for _ in found)
    with limit(in_use + KEPT_FREE + more):
        assert are_short() == short


def test_they_are_short_when_not_even_looking_is_possible():
    with limit(0):
        assert are_short()


def test_the_limit_is_raised_to_what_is_wanted_and_never_lowered():
    for now in (WANTED - 1, WANTED, WANTED + 1):
        with limit(now) as most:
            assert most > WANTED
            assert raise_limit() == max(now, WANTED)
            assert resource.getrlimit(resource.RLIMIT_NOFILE) == (max(now, WANTED), most)
