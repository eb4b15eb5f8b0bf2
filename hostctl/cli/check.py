"""`hostctl check FILE…`: everything that is wrong with the files, one line each."""

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hostctl.cli.next_steps.step import say_beside
from hostctl.errors import ConfigError

if TYPE_CHECKING:
    from hostctl.config.any_file import AnyFile
    from hostctl.config.machine import Machine
    from hostctl.config.yaml_text import Source
    from hostctl.plugins import Kind

ABSENT = object()
EXAMPLE = "hostctl check my-study.yaml --machine workshop-220"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "files",
        nargs="+",
        metavar="FILE",
        help="machine, study, budget and host files, or the daemon's whole directory",
    )
    parser.add_argument(
        "--machine", metavar="M", help="also say whether the studies can run on this machine"
    )


def act(args: Namespace) -> int:
    """Print a line for each good file; the mistakes go to standard error, code 3."""
    code, in_order = 0, {}
    for name in args.files:
        try:
            said, in_order[name] = _checked(name, args.machine)
            print(f"{name}: {said}")
        except ConfigError as error:
            print(error, file=sys.stderr)
            code = error.exit_code
    if code == 0:
        from hostctl.cli.next_steps.after_looking import after_check

        say_beside([*after_check(in_order, args.machine)])
    return code


def _checked(name: str, machine_name: str | None) -> "tuple[str, object]":
    """What is said of a file in order, and what is in it; of a directory its path."""
    from hostctl.config.any_file import any_file_from
    from hostctl.config.find import find_file
    from hostctl.config.yaml_text import Source

    path = Path(name)
    if path.is_dir():
        return _checked_directory(path), path
    if not path.exists():
        path = find_file(name, "machines", "studies", "budgets")
    source = Source.of(path)
    checked = any_file_from(source)
    return _checked_file(source, checked, machine_name), checked


def _checked_file(source: "Source", checked: "AnyFile", machine_name: str | None) -> str:
    from hostctl.config.budgets.budget import BudgetFile
    from hostctl.config.host import Host
    from hostctl.config.load import machine_from
    from hostctl.config.machine import Machine
    from hostctl.config.together import check_together
    from hostctl.daemon.assembly.plan import machine_file

    _check_plugins(source, checked)
    _note_old_names(source)
    _note_too_few_touches(source, checked)
    match checked:
        case Machine(machine=machine):
            return f"machine '{machine}' is in order{_port_is_the_examples(checked)}"
        case BudgetFile(measurand=measurand):
            return f"budget '{measurand}' is in order"
        case Host():
            return "host file is in order; give its directory to check the files it names too"
        case study if machine_name is None:
            return f"study '{study.study}' is in order"
        case study:
            fitting = machine_from(machine_file(machine_name))
            check_together(study, fitting, source)
            return f"study '{study.study}' is in order and fits machine '{fitting.machine}'"


def _port_is_the_examples(machine: "Machine") -> str:
    """That nothing is there: the file was copied and its port not put in yet."""
    from hostctl.cli.next_steps.after_looking import EXAMPLE_PORT

    if EXAMPLE_PORT not in machine.port:
        return ""
    return f", but its port is still the example's ({machine.port}): put in one of 'hostctl ports'"


def _note_old_names(source: "Source") -> None:
    from hostctl.config.checked import OLD_NAMES
    from hostctl.config.yaml_text import parse

    document = parse(source)
    for path, name_now in OLD_NAMES.items():
        section = document.data
        for key in path:
            section = section.get(key, ABSENT) if isinstance(section, dict) else ABSENT
        if section is not ABSENT:
            was, now = ".".join(path), ".".join((*path[:-1], name_now))
            print(f"{document.at(path)}: {was} is called {now} now; both are read")


def _note_too_few_touches(source: "Source", checked: object) -> None:
    """That a loop would go to its count, whatever it finds."""
    from hostctl.config.study import Study
    from hostctl.config.yaml_text import parse
    from hostctl.run.procedures.looping.reach import trials_needed

    needed = trials_needed(checked) if isinstance(checked, Study) else None
    if needed is None or not isinstance(checked, Study) or checked.loop is None:
        return
    print(
        f"{parse(source).at(('loop', 'known_to'))}: loop.known_to: {checked.trials} touches at "
        f"each point can't reach {checked.loop.known_to:g}, so the loop goes to its count; "
        f"it takes 'trials: {needed}' or more"
    )


def _check_plugins(source: "Source", checked: object) -> None:
    """Raises FileMistakes where a plug-in is named that is not installed; nothing is loaded."""
    from hostctl.config.load import FileMistakes, nearest
    from hostctl.config.yaml_text import parse

    mistakes = [
        ConfigError(
            parse(source).at(path),
            f"{'.'.join(path)}: no plug-in is called '{name}'",
            nearest(name, kind.names()),
        )
        for path, kind, name in _plugins_named(checked)
        if name not in kind.names()
    ]
    if mistakes:
        raise FileMistakes(mistakes)


def _plugins_named(checked: object) -> "list[tuple[tuple[str, ...], Kind[Any], str]]":
    from hostctl.config.machine import Machine
    from hostctl.config.study import Study
    from hostctl.gauges.gauge import GAUGES
    from hostctl.link.port import PORTS
    from hostctl.machine.dialects.dialect import DIALECTS

    match checked:
        case Machine(port=port, dialect=dialect):
            scheme, found, _ = port.partition("://")
            named: list[tuple[tuple[str, ...], Kind[Any], str]] = []
            named += [(("port",), PORTS, scheme)] if found else []
            named += [(("dialect",), DIALECTS, dialect)] if dialect else []
            return named
        case Study(gauge=gauge):
            return [(("gauge", "kind"), GAUGES, gauge.kind)]
        case _:
            return []


def _checked_directory(path: Path) -> str:
    from hostctl.channels.secret_file import check_files_of
    from hostctl.config.directory import read_directory

    if not (path / "host.yaml").exists():
        what = "holds no host.yaml, so it is no directory of the daemon"
        raise ConfigError(str(path), what, f"Name its files: hostctl check {path}/*.yaml")
    found = read_directory(path)
    for machine in found.machines.values():
        _check_plugins(machine.source, machine.checked)
    for study in found.studies.values():
        _check_plugins(study.source, study.checked)
    check_files_of(found.host)
    machines, studies = ", ".join(found.machines), ", ".join(found.studies) or "none"
    return f"the daemon's directory is in order; machines: {machines}; studies: {studies}"
