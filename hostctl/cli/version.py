"""What this program is, as it goes on record with each run."""

from importlib.metadata import PackageNotFoundError, version


def program() -> str:
    """`hostctl 0.1.0`; without a number when it runs uninstalled."""
    try:
        return f"hostctl {version('printer-hostctl')}"
    except PackageNotFoundError:
        return "hostctl"
