"""The options of every command that speaks to the running daemon."""

from argparse import ArgumentParser


def add_socket(parser: ArgumentParser) -> None:
    """Declare `--socket`."""
    parser.add_argument(
        "--socket",
        metavar="PATH",
        help="the daemon's socket; without it $HOSTCTL_SOCKET, else your own daemon's, else the "
        "system's",
    )


def add_machine(
    parser: ArgumentParser, help: str = "may be left out where it has only one"
) -> None:
    """Declare `--machine`."""
    parser.add_argument("--machine", metavar="M", help=f"which of the daemon's machines; {help}")
