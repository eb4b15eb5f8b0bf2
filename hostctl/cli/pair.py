"""`hostctl pair`: the phone page's address and pairing code, as a QR code."""

import sys
from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_socket
from hostctl.cli.plain_signs import HANDLER
from hostctl.daemon.socket.client import ask

EXAMPLE = "hostctl pair"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--forget-phones",
        action="store_true",
        help="shut every paired phone out instead, as when one is lost",
    )
    add_socket(parser)


def act(args: Namespace) -> int:
    """Print it, or forget. Raises DaemonError when the daemon serves no page."""
    if args.forget_phones:
        ask(args.socket, {"ask": "forget-phones"})
        print("No phone is paired any more. To pair one: hostctl pair")
        return 0
    text = str(ask(args.socket, {"ask": "pair"})["text"])
    if sys.stdout.errors == HANDLER:  # no blocks there to draw the QR code with
        text = "\n".join(line for line in text.split("\n") if line.isascii() and line.strip())
    print(text)
    return 0
