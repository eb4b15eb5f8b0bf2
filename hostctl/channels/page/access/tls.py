"""TLS for the page, where host.yaml names a certificate."""

import ssl
from pathlib import Path

from hostctl.channels.secret_file import PAGE_KEY, check_secret
from hostctl.config.host import Page
from hostctl.errors import ConfigError


def tls_of(settings: Page) -> ssl.SSLContext | None:
    """None: plain HTTP. Raises ConfigError when the files can't be used, or others read the key."""
    if settings.certificate_file is None or settings.key_file is None:
        return None
    check_secret(Path(settings.key_file), PAGE_KEY)
    context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    context.minimum_version = ssl.TLSVersion.TLSv1_2
    try:
        # An empty password: a key that wants one is refused, and nobody is asked at a terminal.
        context.load_cert_chain(settings.certificate_file, settings.key_file, password="")
    except (OSError, ssl.SSLError) as cause:
        raise ConfigError(
            settings.certificate_file,
            f"it can't be used as the phone page's certificate with {settings.key_file}",
            "Name a PEM certificate and its own key, without a password.",
        ) from cause
    return context
