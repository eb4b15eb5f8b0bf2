"""`hostctl start STUDY`: a run, asked of the daemon."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_machine, add_socket
from hostctl.cli.number import run_number, seed
from hostctl.daemon.socket.client import ask
from hostctl.errors import UsageError

EXAMPLE = "hostctl start rig-check --machine workshop-220"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "study", nargs="?", metavar="STUDY", help="its name, as in the daemon's folder"
    )
    parser.add_argument(
        "--resume", type=run_number, metavar="RUN", help="go on with a run that stopped"
    )
    parser.add_argument("--seed", type=seed, metavar="N", help="of the random order; else drawn")
    add_machine(parser)
    add_socket(parser)


def act(args: Namespace) -> int:
    """Ask for it. Raises DaemonError, for one when nobody at the machine has armed it."""
    if (args.study is None) == (args.resume is None):
        raise UsageError("hostctl start", "name a study, or a run with --resume", "Not both.")
    answer = ask(
        args.socket,
        {
            "ask": "start",
            "study": args.study,
            "resume": args.resume,
            "seed": args.seed,
            "machine": args.machine,
        },
    )
    if answer.get("waits_for"):
        print(f"{answer['machine']} can't be reached now: {answer['waits_for']}")
    print(f"Asked of {answer['machine']}. Nothing moves until somebody answers its first question.")
    print("Follow it: hostctl status --watch. Emergency stop: the machine's mains switch.")
    return 0
