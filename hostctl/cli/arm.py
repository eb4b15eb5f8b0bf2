"""`hostctl arm`: one start from afar allowed, by whoever can read the machine's own screen."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_machine, add_socket
from hostctl.daemon.socket.client import Json, ask
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
        answer = ask(args.socket, {"ask": "show-code", "machine": args.machine})
        print(told(answer))
        return 0
    answer = ask(args.socket, {"ask": "arm", "code": args.code, "machine": args.machine})
    print(f"{answer['machine']} is armed for one start.")
    return 0


def told(shown: Json) -> str:
    """Where the code can be read, and what to do where it can't."""
    machine, press = shown["machine"], shown["press"]
    where = f"A room code for {machine} is on that machine's own screen, for three minutes"
    if shown["on_terminal"]:
        where += ",\nand on the terminal in which the daemon runs"
    else:
        where += ".\nThe daemon has no terminal to show it on, and no log holds it"
    other = (
        f"No screen on it? {press[0].upper()}{press[1:]} arms it too."
        if isinstance(press, str) and press
        else "No screen on it? Plug a keyboard into the daemon's computer and name it under\n"
        "'keys:' in host.yaml: Enter on it arms the machine."
    )
    return f"{where}.\nThen: hostctl arm CODE\n{other}"
