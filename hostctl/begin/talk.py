"""One person at the terminal beside the machine, as whoever leads them through sees them.

Everything is asked one thing at a time, and nothing moves without an answer of its own that was
given after the question was on the screen.
"""

from collections.abc import Callable
from contextlib import AbstractAsyncContextManager
from typing import Protocol

from hostctl.drafts.question import Question, Value


class BackAsked(Exception):
    """The person wants to give the answer before this one again."""


class LeaveAsked(Exception):
    """The person leaves; what is known so far is kept, and taken up again."""


class NotNow(Exception):
    """The person called off what was about to move: nothing moved."""


class Talk(Protocol):
    """Whom is asked. Each `ask…` raises BackAsked, or LeaveAsked (also where the input ends)."""

    async def say(self, text: str) -> None:
        """A paragraph."""

    async def title(self, text: str) -> None:
        """What comes now, in a few words, above what is asked next."""

    async def ask(self, question: Question) -> Value:
        """Ask until the answer is one. Moves nothing. `?` shows what the words mean."""
        ...

    async def ask_to_move(self, question: Question, moves: str) -> Value:
        """As `ask`, where something moves once it is answered: `moves` says what.

        Nothing is suggested; the last lines above the answer say what moves, and to take one's
        hands out.
        """
        ...

    async def countdown(self, what: str, seconds: int) -> None:
        """Count down before a motion. Raises NotNow where a key calls it off."""

    def moving(self, what: str, stop: Callable[[], None]) -> AbstractAsyncContextManager[None]:
        """While something moves: key x calls `stop` at once; nothing else that is typed counts."""
        ...
