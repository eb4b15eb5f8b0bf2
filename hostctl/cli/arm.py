"""`hostctl arm`: one start from afar allowed, by whoever can read the machine's own screen."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_client import add_machine, add_socket, ask
from hostctl.errors import UsageError

EXAMPLE = "hostctl arm --show, then hostctl arm 2804"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("code", nargs="?", metavar="CODE", help="the four digits it shows")
    parser.add_argument(
        "--show", action="store_true", help="have the machine show a fresh code on its own screen"
    )
    add_machine(parser)
    add_socket(parser)


def act(args: Namespace) -> int:
    """Show or take the code. Raises DaemonError when it is refused."""
    if (args.code is None) == (not args.show):
        raise UsageError("hostctl arm", "give either a code or --show", "See: hostctl arm --help")
    if args.show:
        answer = ask(args, {"ask": "show-code", "machine": args.machine})
        print(f"{answer['machine']} shows a room code on its own screen, for three minutes;")
        print("so does the terminal in which the daemon was started, if it was started in one.")
        print("At the machine a short press of its button arms it too.")
        return 0
    answer = ask(args, {"ask": "arm", "code": args.code, "machine": args.machine})
    print(f"{answer['machine']} is armed for one start.")
    return 0
