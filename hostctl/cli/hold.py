"""`hostctl hold`: the run stands still until somebody lifts the hold."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_machine, add_socket
from hostctl.daemon.socket.client import ask

EXAMPLE = "hostctl hold"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_machine(parser, "without it every run is held")
    add_socket(parser)


def act(args: Namespace) -> int:
    """Hold. Raises DaemonError when no run is going on."""
    answer = ask(args.socket, {"ask": "hold", "machine": args.machine})
    held = answer["machines"]
    assert isinstance(held, list)
    print(f"Holding: {', '.join(held)}. The present move ends first.")
    return 0
