"""Who wants to be told: any number of observers of one thing, each left alone by the others."""

import logging
from collections.abc import Callable
from functools import partial
from typing import Generic, ParamSpec

What = ParamSpec("What")

_LOG = logging.getLogger(__name__)


class Observers(Generic[What]):
    """The observers of one thing that happens, told in the order in which they came.

    One that fails is logged, and stops neither the others nor whoever tells: what is told of may be
    a fault, and what is still to be done about it makes the machine safe.
    """

    def __init__(self) -> None:
        self._observers: dict[object, Callable[What, object]] = {}

    def __bool__(self) -> bool:
        """Whether there is anybody to tell."""
        return bool(self._observers)

    def add(self, observer: Callable[What, object]) -> Callable[[], object]:
        """Tell `observer` from now on. Gives what ends it; to end it twice is no error."""
        place = object()
        self._observers[place] = observer
        return partial(self._observers.pop, place, None)

    def tell(self, *what: What.args, **named: What.kwargs) -> None:
        """Tell all of them. Raises nothing."""
        for observer in list(self._observers.values()):
            try:
                observer(*what, **named)
            except Exception:  # one of the five places where all is caught
                _LOG.exception("an observer failed")
