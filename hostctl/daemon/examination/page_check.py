"""The phone page looked at: who can reach it, whether it is served, its certificate and key."""

import socket
import ssl
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from typing import Any
from urllib.parse import urlsplit

from hostctl.channels.page.access.address import page_url
from hostctl.channels.page.access.guards import HEADERS, is_loopback
from hostctl.channels.page.access.tls import tls_of
from hostctl.config.host import Page
from hostctl.daemon.examination.broker_check import Found, certificate_until
from hostctl.errors import ConfigError

PATIENCE_S = 2.0
OTHER_NAME = (62, 64)  # X509_V_ERR_HOSTNAME_MISMATCH, X509_V_ERR_IP_ADDRESS_MISMATCH (OpenSSL)
FOR_THIS_NAME = "Phones come by that: set 'page.address' to what it names, or make one for {0}."
MOST_TURNS = 10  # a handshake takes three
Shown = dict[str, Any]
OTHER_PROGRAM = "Stop it, or name another 'page.port' in host.yaml, then start the daemon again."


def page_findings(page: Page) -> Iterator[Found]:
    """Each finding; nobody is paired."""
    try:
        tls = tls_of(page)
    except ConfigError as error:
        yield False, str(error), ""
        return
    with ExitStack() as at_the_end:
        line = at_the_end.enter_context(found) if (found := _connected(page)) else None
        if line is not None and not _is_the_page(page, secure=tls is not None):
            yield False, f"port {page.port}: another program answers there", OTHER_PROGRAM
            return
        yield True, *_reach(page, "served now" if line else "not served now")
        if tls is not None:
            yield _certificate(line, tls, page)


def _reach(page: Page, served: str) -> tuple[str, str]:
    if is_loopback(page.listen):
        mend = "Set 'page.listen: 0.0.0.0' in host.yaml to let paired phones in."
        return f"port {page.port}, for this computer alone, {served}", mend
    return f"port {page.port} on {page.listen}, {served}", "Phones pair with: hostctl pair"


def _host(page: Page) -> str:
    return "localhost" if page.listen in ("0.0.0.0", "::", "") else page.listen


def _connected(page: Page) -> socket.socket | None:
    try:
        return socket.create_connection((_host(page), page.port), timeout=PATIENCE_S)
    except OSError:
        return None


def _is_the_page(page: Page, *, secure: bool) -> bool:
    """Whether what answers there calls itself ours; nothing is handed to it."""
    host, port = _host(page), page.port
    asking = (
        HTTPSConnection(host, port, timeout=PATIENCE_S, context=_trusting_anybody())
        if secure  # the certificate is looked at by itself
        else HTTPConnection(host, port, timeout=PATIENCE_S)
    )
    try:
        asking.request("GET", "/pair")
        return asking.getresponse().getheader("Server") == HEADERS["Server"]
    except (OSError, HTTPException):
        return False
    finally:
        asking.close()


def _trusting_anybody() -> ssl.SSLContext:
    context = ssl.create_default_context()
    context.check_hostname = False
    context.verify_mode = ssl.CERT_NONE
    return context


def _certificate(line: socket.socket | None, tls: ssl.SSLContext, page: Page) -> Found:
    """How long it lasts and for whom, as a phone is shown it; not served, as it would be."""
    context = ssl.create_default_context(cafile=page.certificate_file)
    context.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN  # ours is trusted whoever signed it
    name = _named_by_phones(page)
    context.check_hostname = name is not None
    try:
        shown = _shown_on(line, context, name) if line else _shown_by(tls, context, name)
    except OSError as cause:  # ssl.SSLError is one
        if getattr(cause, "verify_code", None) in OTHER_NAME:
            return False, f"its certificate is not for {name}", FOR_THIS_NAME.format(name)
        why = getattr(cause, "verify_message", "") or cause.strerror or str(cause)
        return False, f"its certificate: {why}", "Make a new one, and start the daemon again."
    return certificate_until("its certificate", str(shown.get("notAfter")), "phones are refused")


def _named_by_phones(page: Page) -> str | None:
    """By which name or address phones come; None where none do."""
    if page.address is None and is_loopback(page.listen):
        return None
    return urlsplit(page_url(page, page.port)).hostname


def _shown_on(line: socket.socket, context: ssl.SSLContext, name: str | None) -> Shown:
    with context.wrap_socket(line, server_hostname=name) as secured:
        return secured.getpeercert() or {}


def _shown_by(tls: ssl.SSLContext, context: ssl.SSLContext, name: str | None) -> Shown:
    """The two sides talk in memory."""
    to_phone, to_page = ssl.MemoryBIO(), ssl.MemoryBIO()
    phone = context.wrap_bio(to_phone, to_page, server_hostname=name)
    sides = (phone, tls.wrap_bio(to_page, to_phone, server_side=True))
    for _ in range(MOST_TURNS):
        for side in sides:
            with suppress(ssl.SSLWantReadError):
                side.do_handshake()
    return phone.getpeercert() or {}
