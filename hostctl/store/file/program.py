"""Which program this is, as it is kept beside what it writes."""


def program() -> str:
    """`hostctl` and its version; says so where it runs uninstalled."""
    from importlib.metadata import PackageNotFoundError, version  # slow to import, seldom needed

    try:
        return f"hostctl {version('printer-hostctl')}"
    except PackageNotFoundError:
        return "hostctl, not installed"
