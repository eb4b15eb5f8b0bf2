"""`hostctl stop`: the machine told to halt at once."""

from argparse import ArgumentParser, Namespace

from hostctl.cli.daemon_client import add_machine, add_socket, ask

EXAMPLE = "hostctl stop"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_machine(parser, "without it every machine is halted")
    add_socket(parser)


def act(args: Namespace) -> int:
    """Halt. Raises DaemonError when the daemon is not there."""
    answer = ask(args, {"ask": "stop", "machine": args.machine})
    halted = answer["machines"]
    assert isinstance(halted, list)
    print(f"Told to halt at once: {', '.join(halted)}. Starts that waited are dropped.")
    print(
        "This asks the machine's own program and can fail. The emergency stop is its mains switch."
    )
    return 0
