"""`hostctl answer WORD|READING`: the open prompt, answered from the command line."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_machine, add_socket
from hostctl.daemon.socket.client import ask

EXAMPLE = "hostctl answer -0.02"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "text",
        metavar="WORD|READING",
        help="done, redo, skip; hold (it stands still until somebody lifts it), end (the run is "
        "over, and can be resumed); or what the indicator shows, such as 0.02 or -0.01",
    )
    parser.add_argument(
        "--prompt", metavar="ID", help="count only for this prompt (see hostctl status --json)"
    )
    add_machine(parser)
    add_socket(parser)


def act(args: Namespace) -> int:
    """Hand it in. Raises DaemonError when it did not count; nothing moved then."""
    ask(
        args.socket,
        {"ask": "answer", "text": args.text, "prompt_id": args.prompt, "machine": args.machine},
    )
    print(f"Taken: {args.text}")
    return 0
