"""Pairing: a short-lived code that makes one phone a known one.

Whoever can see the daemon's terminal, or a page that is paired already, may ask for a code. It
serves once. 32 ** 8 codes, a few minutes each and few tries a minute make guessing hopeless.
"""

import hmac
import io
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import segno

from hostctl.run.arming.lasting import Lasting, Until

LASTS_S = 300
MOST_OPEN = 8
SIGNS = "23456789ABCDEFGHJKLMNPQRSTUVWXYZ"  # nothing to mistake: no 0, 1, I, O
LENGTH = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class PairingOffer:
    """A code, where it is to be typed, and until when it is taken (UTC)."""

    code: str
    url: str  # with the code in it, behind the #, so that no log ever holds it
    until: datetime

    def svg(self) -> str:
        """The QR code of `url` as an SVG element."""
        out = io.BytesIO()
        segno.make(self.url, error="m").save(
            out, kind="svg", scale=6, border=4, xmldecl=False, light="#fff", omitsize=True
        )
        return out.getvalue().decode()

    def terminal(self) -> str:
        """The QR code of `url` as lines of text for a terminal, with what to do under it."""
        out = io.StringIO()
        segno.make(self.url, error="m").terminal(out, compact=True, border=2)
        page = self.url.partition("#")[0]
        minutes = LASTS_S // 60
        return (
            f"{out.getvalue()}\n  Point the phone's camera at it, or open {page}\n"
            f"  and type {spaced(self.code)} (serves once, within {minutes} min,\n"
            "  and not after the daemon was started again)\n"
        )


def drawn() -> str:
    """A fresh code."""
    return "".join(secrets.choice(SIGNS) for _ in range(LENGTH))


def spaced(code: str) -> str:
    """`K7QM 2XHD`: easier to read and type."""
    return f"{code[:4]} {code[4:]}"


class Pairing:
    """The codes that are open now."""

    def __init__(
        self,
        now: Callable[[], datetime],
        draw: Callable[[], str] = drawn,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        """`clock`: elapsed seconds."""
        self._lasting = Lasting(now, clock)
        self._draw = draw
        self._open: dict[str, Until] = {}

    def offer(self, page_url: str) -> PairingOffer:
        """A fresh code for the page at `page_url`; the oldest goes when there are too many."""
        self._forget_old()
        while len(self._open) >= MOST_OPEN:
            del self._open[next(iter(self._open))]
        code, end = self._draw(), self._lasting.for_s(LASTS_S)
        self._open[code] = end
        return PairingOffer(code=code, url=f"{page_url}#{code}", until=end.at)

    def take(self, typed: str) -> bool:
        """Whether `typed` is an open code; it is used up then. Spaces and case don't matter."""
        self._forget_old()
        plain = "".join(typed.split()).replace("-", "").upper().encode()
        found = [code for code in self._open if hmac.compare_digest(code.encode(), plain)]
        for code in found:
            del self._open[code]
        return bool(found)

    def forget_all(self) -> None:
        """No code is open any more."""
        self._open.clear()

    def _forget_old(self) -> None:
        self._open = {code: end for code, end in self._open.items() if self._lasting.lasts(end)}
