"""`hostctl stop`: the machine told to halt at once."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_options import add_machine, add_socket
from hostctl.daemon.socket.client import ask
from hostctl.errors import DaemonError

EXAMPLE = "hostctl stop"
SWITCH_OFF = "If it goes on, switch it off at the mains."


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_machine(parser, "without it every machine is halted")
    add_socket(parser)


def act(args: Namespace) -> int:
    """Halt. Raises DaemonError when the daemon is not there, or a machine could not be told."""
    answer = ask(args.socket, {"ask": "stop", "machine": args.machine})
    told, not_told = answer["machines"], answer["not_told"]
    assert isinstance(told, list)
    assert isinstance(not_told, list)
    if told:
        print(f"Told to halt at once: {', '.join(told)}. Starts that waited are dropped.")
    print(
        "This asks the machine's own program and can fail. The emergency stop is its mains switch."
    )
    if told:
        print("How it stands, and what to do now: hostctl status")
    if not_told:
        raise DaemonError(", ".join(not_told), "not told to halt, its line is down", SWITCH_OFF)
    return 0
