"""Files that hold secrets: read only when nobody else can."""

import stat
from pathlib import Path

from hostctl.config.host import Host
from hostctl.errors import ConfigError

PAGE_KEY = "the private key of the phone page"
PAGE_CERTIFICATE = "the certificate of the phone page"
PASSWORD = "the broker's password"
OUR_KEY = "the private key"
OUR_CERTIFICATE = "its certificate"
AUTHORITY = "the certificate of the broker's authority"
OTHERS = stat.S_IRWXG | stat.S_IRWXO


def check_secret(path: Path, purpose: str) -> None:
    """Raises ConfigError when the file is missing, or others than its owner may use it."""
    try:
        mode = path.stat().st_mode
    except OSError as cause:
        raise _unreadable(path, purpose) from cause
    if mode & OTHERS:
        raise ConfigError(
            str(path),
            f"others may read or change it, but it holds {purpose}",
            f"Run: chmod 600 {path}",
        )


def check_files_of(host: Host) -> None:
    """All files that host.yaml names. Raises ConfigError as `serve` does, which reads them."""
    page, messages = host.page, host.messages
    if page is not None:
        _check(page.certificate_file, PAGE_CERTIFICATE)
        _check(page.key_file, PAGE_KEY, secret=True)
    if messages is not None:
        _check(messages.password_file, PASSWORD, secret=True)
    if messages is not None and messages.tls is not None:
        _check(messages.tls.ca_file, AUTHORITY)
        _check(messages.tls.certificate_file, OUR_CERTIFICATE)
        _check(messages.tls.key_file, OUR_KEY, secret=True)


def _check(file: str | None, purpose: str, *, secret: bool = False) -> None:
    if file is None:
        return
    if secret:
        check_secret(Path(file), purpose)
    elif not Path(file).is_file():
        raise _unreadable(Path(file), purpose)


def read_secret(path: Path, purpose: str) -> str:
    """The first line. Raises ConfigError as `check_secret` does, or when it is empty."""
    check_secret(path, purpose)
    try:
        lines = path.read_text().splitlines()
    except (OSError, UnicodeDecodeError) as cause:
        raise _unreadable(path, purpose) from cause
    if not lines or not lines[0]:
        raise ConfigError(str(path), f"it is empty, but should hold {purpose}", "Write it there.")
    return lines[0]


def _unreadable(path: Path, purpose: str) -> ConfigError:
    return ConfigError(
        str(path),
        f"it can't be read, but should hold {purpose}",
        "Check that it exists and belongs to the user that runs hostctl.",
    )
