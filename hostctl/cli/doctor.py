"""`hostctl doctor`: what would keep the daemon from working, and what to do about it."""

import os
from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.daemon_options import add_socket
from hostctl.config.find import SERVED

EXAMPLE = "hostctl doctor --config /etc/hostctl"
MARKS = {True: "good", False: "MEND"}


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--config",
        metavar="DIR",
        help=f"the daemon's folder; without it $HOSTCTL_CONFIG, else {SERVED}",
    )
    add_socket(parser)


def act(args: Namespace) -> int:
    """Print each finding; code 0 when there is nothing to mend, else 1."""
    from hostctl.daemon.examination.examination import examine

    folder = Path(args.config or os.environ.get("HOSTCTL_CONFIG") or SERVED)
    code = 0
    for finding in examine(folder, Path(args.socket) if args.socket else None):
        mark = "note" if finding.note else MARKS[finding.good]
        print(f"{mark}  {finding.what}: {finding.found}")
        if finding.mend:
            print(f"      {finding.mend}")
        code = code if finding.good else 1
    print("Nothing to mend." if code == 0 else "Mend what is marked, then look again.")
    return code
