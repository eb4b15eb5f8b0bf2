"""`hostctl serve`: the daemon."""

import os
from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.config.find import SERVED

EXAMPLE = "hostctl serve --config /etc/hostctl"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--config",
        metavar="DIR",
        help="the folder with host.yaml, machines/ and studies/; without it $HOSTCTL_CONFIG, else "
        f"{SERVED}",
    )


def act(args: Namespace) -> int:
    """Serve until told to stop (SIGTERM, Ctrl-C). SIGHUP reads the folder again."""
    from hostctl.daemon.service import serve

    serve(Path(args.config or os.environ.get("HOSTCTL_CONFIG") or SERVED))
    return 0
