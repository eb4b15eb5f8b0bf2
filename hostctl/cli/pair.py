"""`hostctl pair`: the phone page's address and pairing code, as a QR code."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_client import add_socket, ask

EXAMPLE = "hostctl pair"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_socket(parser)


def act(args: Namespace) -> int:
    """Print it. Raises DaemonError when the daemon serves no page."""
    print(ask(args, {"ask": "pair"})["text"])
    return 0
