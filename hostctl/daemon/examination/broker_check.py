"""The broker looked at from outside: reachable, its certificate's dates, the password's file."""

import socket
import ssl
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from hostctl.channels.secret_file import check_secret
from hostctl.config.host import Messages
from hostctl.errors import ConfigError

PATIENCE_S = 5.0
SOON_DAYS = 30
ENDS = "messages end with it"

Found = tuple[bool, str, str]
"""Whether it is good, what was found, what to do."""


def broker_findings(settings: Messages) -> Iterator[Found]:
    """Each finding; nobody logs in."""
    if settings.password_file is not None:
        yield _password(Path(settings.password_file))
    elif settings.user is None:
        yield False, "no user and password", "Give the broker's users passwords, and set them here."
    where = f"{settings.broker} port {settings.port}"
    try:
        connection = socket.create_connection((settings.broker, settings.port), PATIENCE_S)
    except OSError as cause:
        why = (cause.strerror or str(cause)).lower()
        yield False, f"{where} does not answer ({why})", "See that it runs and listens there."
        return
    with connection:
        if settings.tls is None:
            beyond = settings.broker not in ("localhost", "127.0.0.1", "::1")
            mend = "Without TLS the password crosses the network in the clear." if beyond else ""
            yield not beyond, f"{where} answers, without TLS", mend
            return
        yield from _certificate(connection, settings, where)


def _password(path: Path) -> Found:
    try:
        check_secret(path, "the broker's password")
    except ConfigError as error:
        return False, f"{path}: {error.what}", error.next_step
    return True, f"{path} is for its owner alone", ""


def _certificate(connection: socket.socket, settings: Messages, where: str) -> Iterator[Found]:
    tls = settings.tls
    assert tls is not None
    try:
        context = ssl.create_default_context(cafile=tls.ca_file)
        if tls.certificate_file is not None:
            context.load_cert_chain(tls.certificate_file, tls.key_file)
        with context.wrap_socket(connection, server_hostname=settings.broker) as line:
            theirs = line.getpeercert() or {}
    except OSError as cause:  # ssl.SSLError is one
        why = getattr(cause, "verify_message", "") or cause.strerror or str(cause)
        yield False, f"{where}: no trusted line ({why})", "See its certificate, and 'tls.ca_file'."
        return
    yield certificate_until("its certificate", str(theirs.get("notAfter")), ENDS)
    for authority in context.get_ca_certs():
        what = "its authority's certificate"
        yield certificate_until(what, str(authority.get("notAfter")), ENDS)


def certificate_until(what: str, not_after: str, then: str) -> Found:
    """How long a certificate lasts. `then`: what comes of it on that day."""
    until = datetime.fromtimestamp(ssl.cert_time_to_seconds(not_after), UTC)
    days = (until - datetime.now(UTC)).days
    good = days >= SOON_DAYS
    mend = "" if good else f"Make a new one before that day; {then}."
    return good, f"{what} lasts until {until:%Y-%m-%d} ({days} days)", mend
