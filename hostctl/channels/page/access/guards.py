"""What keeps strangers out: names, origins, sessions and tokens checked before any act.

- Host must be an address or a name of this computer, so that a foreign site that points its own
  name here gets nothing.
- A browser needs a session: given with a pairing code, or by itself where only this computer can
  reach the page.
- What changes anything is a POST of JSON from our own page: same origin, and the session's token
  in a header, which only a page that could read our answers knows.
"""

import asyncio
import ipaddress
import json
import socket
from urllib.parse import urlsplit

from aiohttp import web

from hostctl.channels.page.access.sessions import Sessions, is_token
from hostctl.channels.view.data import Json

NOT_PAIRED = "this browser is not paired"
TOO_MANY = "too many at once; wait a moment"
COOKIE = "hostctl_session"
TOKEN_HEADER = "X-Hostctl-Token"
BODY_WITHIN_S = 5.0
HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
        "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Referrer-Policy": "no-referrer",
    "Server": "hostctl",  # or the library tells its version
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


def refusal(status: int, reason: str) -> web.Response:
    """A refusal in plain words, for the page to show."""
    return web.json_response({"refused": reason}, status=status)


def is_loopback(listen: str) -> bool:
    """Whether only this computer can reach what listens there."""
    if listen == "localhost":
        return True
    try:
        return ipaddress.ip_address(listen).is_loopback
    except ValueError:
        return False


def is_our_name(host_header: str, address: str | None) -> bool:
    """Whether a request meant this computer: an address, localhost, or a name it goes by."""
    try:
        name = (urlsplit(f"//{host_header}").hostname or "").rstrip(".")
    except ValueError:
        return False
    own = socket.gethostname().lower()
    known = {"localhost", own, f"{own}.local", (address or "").lower()}
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return name in known - {""}
    return True


def cookie_of(request: web.Request, sessions: Sessions) -> str | None:
    """The cookie of a browser that is known."""
    cookie = request.cookies.get(COOKIE, "")
    return cookie if sessions.knows(cookie) else None


def from_our_page(request: web.Request) -> bool:
    """Whether the browser says that a page of ours sent this."""
    origin = request.headers.get("Origin")
    if origin is not None:
        own = request.host.lower()  # https too: TLS may end in a proxy before us
        return origin.lower() in (f"http://{own}", f"https://{own}")
    return request.headers.get("Sec-Fetch-Site") == "same-origin"


def may_follow(request: web.Request) -> bool:
    """Whether a stream may go there: not to a page of another site or port, where told."""
    return request.headers.get("Sec-Fetch-Site", "same-origin") in ("same-origin", "none")


def has_token(request: web.Request, cookie: str) -> bool:
    """Whether the request carries the token of its session."""
    return is_token(request.headers.get(TOKEN_HEADER, ""), cookie)


async def json_of(request: web.Request) -> Json | None:
    """The request's JSON object; None when it holds none, or comes too slowly.

    Raises 413 when it is too large.
    """
    if request.content_type != "application/json":
        return None
    try:
        async with asyncio.timeout(BODY_WITHIN_S):
            said = json.loads(await request.read())
        json.dumps(
            said, ensure_ascii=False
        ).encode()  # fails on half a character, which no log takes
    except (ValueError, RecursionError, TimeoutError):
        return None
    return said if isinstance(said, dict) else None


def set_cookie(response: web.StreamResponse, cookie: str, max_age_s: int, *, secure: bool) -> None:
    """Give the browser its cookie, out of reach of scripts and of other sites."""
    response.set_cookie(
        COOKIE,
        cookie,
        max_age=max_age_s,
        httponly=True,
        samesite="Strict",
        secure=secure,
        path="/",
    )
