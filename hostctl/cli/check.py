"""`hostctl check FILE…`: everything that is wrong with the files, one line each."""

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.errors import ConfigError

EXAMPLE = "hostctl check my-study.yaml --machine workshop-220"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("files", nargs="+", metavar="FILE", help="machine and study files")
    parser.add_argument(
        "--machine", metavar="M", help="also say whether the studies can run on this machine"
    )


def act(args: Namespace) -> int:
    """Print a line for each good file; the mistakes go to standard error, code 3."""
    code = 0
    for name in args.files:
        try:
            print(f"{name}: {_checked(Path(name), args.machine)}")
        except ConfigError as error:
            print(error, file=sys.stderr)
            code = error.exit_code
    return code


def _checked(path: Path, machine_name: str | None) -> str:
    from hostctl.cli.study_on_machine import machine_file
    from hostctl.config.load import machine_from, nearest, study_from
    from hostctl.config.together import check_together
    from hostctl.config.yaml_text import Source, parse

    source = Source.of(path)
    document = parse(source)
    keys = document.data if isinstance(document.data, dict) else {}
    if "machine" in keys:
        return f"machine '{machine_from(source).machine}' is in order"
    if "study" not in keys:
        hint = f"Begin with 'machine:' or 'study:'. {nearest('', ['machine', 'study'])}"
        raise ConfigError(document.at(()), "is neither a machine nor a study file", hint)
    study = study_from(source)
    if machine_name is None:
        return f"study '{study.study}' is in order"
    machine = machine_from(machine_file(machine_name))
    check_together(study, machine, source)
    return f"study '{study.study}' is in order and fits machine '{machine.machine}'"
