"""Admission to the page: which browsers are known, and how one becomes so."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from aiohttp import web

from hostctl.channels.page.access import guards
from hostctl.channels.page.access.address import page_url
from hostctl.channels.page.access.allowance import Allowance
from hostctl.channels.page.access.pairing import LASTS_S, Pairing, PairingOffer, spaced
from hostctl.channels.page.access.places import origin
from hostctl.channels.page.access.sessions import LASTS_DAYS, Sessions
from hostctl.config.host import Page

NOT_OPEN = (
    "check what you typed; if it is right, the code was used, is older than "
    f"{LASTS_S // 60} minutes, or the host was started again since: ask for a new one with "
    "hostctl pair"
)
LONGEST_TYPED = 40
DAY_S = 86400


class Admission:
    """Pairing and sessions, and the requests about them."""

    def __init__(
        self,
        settings: Page,
        *,
        now: Callable[[], datetime],
        clock: Callable[[], float],
        sessions_file: Path | None,
        say: Callable[[str], None],
    ) -> None:
        self.needs_pairing = not guards.is_loopback(settings.listen)
        self.url = page_url(settings, settings.port)
        self._secure = settings.certificate_file is not None
        self.sessions = Sessions(now, sessions_file if self.needs_pairing else None)
        self._pairing = Pairing(now)
        self._say = say
        self._tries = Allowance(clock, at_once=6, a_second=0.1)
        self._invitations = Allowance(clock, at_once=4, a_second=0.1)

    def pair(self) -> PairingOffer:
        """A fresh pairing code."""
        return self._pairing.offer(f"{self.url}/pair")

    def forget_all(self) -> None:
        """Shut every browser out, and drop the codes that one of them may have asked for.

        Raises OSError when it can't be written down.
        """
        self._pairing.forget_all()
        self.sessions.forget_all()

    def browser(self, request: web.Request) -> str | None:
        """The cookie of a browser that is known."""
        return guards.cookie_of(request, self.sessions)

    def browser_with_token(self, request: web.Request) -> str | None:
        """The cookie of a known browser, where a page of its session sent the request."""
        cookie = self.browser(request)
        return cookie if cookie is not None and guards.has_token(request, cookie) else None

    def let_in(self, response: web.Response) -> None:
        """Make the browser a known one. Raises OSError when that can't be written down."""
        cookie = self.sessions.begin()
        guards.set_cookie(response, cookie, LASTS_DAYS * DAY_S, secure=self._secure)

    async def take_code(self, request: web.Request) -> web.Response:
        """A pairing code for a session; few tries."""
        if not self._tries.take(origin(request.remote or "")):
            return guards.refusal(429, "too many tries; wait a minute")
        said = await guards.json_of(request)
        code = said.get("code") if said else None
        if not isinstance(code, str) or not self._pairing.take(code[:LONGEST_TYPED]):
            return guards.refusal(409, NOT_OPEN)
        self._say(f"phone page: paired with {request.remote}")
        response = web.json_response({})
        self.let_in(response)
        return response

    async def invite(self, request: web.Request) -> web.Response:
        """A known browser asks for a code, to pair another."""
        cookie = self.browser_with_token(request)
        if cookie is None:
            return guards.refusal(401, guards.NOT_PAIRED)
        if not self.needs_pairing:
            return guards.refusal(409, "the page is open to this computer alone")
        if not self._invitations.take(cookie):
            return guards.refusal(429, guards.TOO_MANY)
        offer = self.pair()
        told = {"code": spaced(offer.code), "url": f"{self.url}/pair", "lasts_s": LASTS_S}
        return web.json_response({**told, "svg": offer.svg()})
