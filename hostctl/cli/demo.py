"""`hostctl demo`: a rig check, then a comparison of three methods, on a simulated printer."""

import re
from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import seed
from hostctl.errors import ConfigError, HostctlError

EXAMPLE = "hostctl demo"
MACHINE = "sim-220"
STUDIES = ("rig-check", "three-methods")
INTRODUCTION = """\
A workshop lends out printers and wants to know which way of setting the gap between
nozzle and bed its volunteers can trust. Everything here is simulated: the printer, its
bed and indicator, and the two volunteers, who answer by themselves. Nothing moves.
"""


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--seed", type=seed, default=7, metavar="N", help="another bed, other hands; 7 if left out"
    )
    parser.add_argument("--open", action="store_true", help="show the report in the browser")
    add_database(parser)


def act(args: Namespace) -> int:
    """Carry out both studies, print what they say, and report on it. Raises HostctlError."""
    from hostctl.cli.show import shown
    from hostctl.cli.telling import open_in_browser

    database = chosen_database(args)
    print(INTRODUCTION)
    runs = [_carry_out(study, args.seed, database) for study in STUDIES]
    print(f"\n{shown(database, runs[-1])}\n")
    report = _reported(database, runs[-1])
    print(f"The report, with figures and all readings: {report}")
    print(f"Kept as runs {runs[0]} and {runs[1]} in {database}")
    print(f"What it proves: hostctl analyse {runs[1]} · a table: hostctl export {runs[1]} --csv")
    print("With your own printer: see 'Wiring a real printer' in the README.")
    if args.open:
        open_in_browser(report)
    return 0


def _reported(database: Path, run: int) -> Path:
    """The file of the report, where the daemon keeps its own."""
    from hostctl.cli.main import COMMANDS
    from hostctl.cli.parsing import understood
    from hostctl.cli.report import written
    from hostctl.daemon.reports.folder import Folder

    folder = Folder(database.resolve())
    file = folder.begin(STUDIES[-1], MACHINE, run)
    words = [str(run), "-o", str(file), "--database", str(database)]
    try:
        written(understood("report", words, COMMANDS)[1])
        folder.keep(file)
    except FileExistsError as taken:
        what = "another program has just written one of that name"
        raise HostctlError(str(taken), what, f"Make it again: hostctl report {run}") from taken
    finally:
        folder.clear(file)
    return folder.path / file.name


def _carry_out(study: str, seed: int, database: Path) -> int:
    from hostctl.cli.session import Session, carry_out_session
    from hostctl.config.find import SHIPPED
    from hostctl.config.yaml_text import Source
    from hostctl.daemon.assembly.plan import machine_file, plan_from, study_file

    if not SHIPPED.is_dir():
        raise ConfigError(
            str(SHIPPED), "the shipped files are not here", "Install the package anew."
        )
    machine_source, study_source = machine_file(MACHINE), study_file(study)
    machine_text = re.sub(r"seed=\d+", f"seed={seed}", machine_source.text)
    # Nobody has to stand clear of a simulated printer.
    study_text = re.sub(r"countdown_s: \d+", "countdown_s: 0", study_source.text)
    plan = plan_from(
        Source(study_source.where, study_text), Source(machine_source.where, machine_text)
    )
    people: dict[str, object] = {"url": plan.machine.port}
    finished = carry_out_session(
        Session(
            plan=plan,
            database=database,
            channels={"progress": {}, "simulated-people": people},
            seed=seed,
        )
    )
    return finished.run
