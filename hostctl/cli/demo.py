"""`hostctl demo`: a rig check, then a comparison of three methods, on a simulated printer."""

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path

from hostctl.cli.database import chosen_database
from hostctl.cli.next_steps.step import Step, naming, said
from hostctl.cli.number import seed
from hostctl.errors import ConfigError, HostctlError
from hostctl.store.file.location import database_path

EXAMPLE = "hostctl demo"
MACHINE = "sim-220"
STUDIES = ("rig-check", "three-methods")
DATABASE = "demo.sqlite"
REPORTS = "demo-reports"
"""Of the runs in that database: in the folder of the others, run 2 would be another one."""
INTRODUCTION = """\
A workshop lends out printers and wants to know which way of setting the gap
between nozzle and bed its volunteers can trust. Everything here is simulated:
the printer, its bed and indicator, and the two volunteers, who answer by
themselves. Nothing moves.
"""


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--seed", type=seed, default=7, metavar="N", help="another bed, other hands; 7 if left out"
    )
    parser.add_argument("--open", action="store_true", help="show the report in the browser")
    parser.add_argument(
        "--database",
        metavar="PATH",
        help=f"the database; without it {DATABASE} beside your own, so that none of it gets there",
    )


def act(args: Namespace) -> int:
    """Carry out both studies, print what they say, and report on it. Raises HostctlError."""
    from hostctl.cli.show import shown
    from hostctl.cli.telling import open_in_browser

    database = chosen_database(args) if args.database is not None else demo_database()
    print(INTRODUCTION)
    runs = [_carry_out(study, args.seed, database) for study in STUDIES]
    print(f"\n{shown(database, runs[-1])[0]}\n")
    report = _reported(database, runs[-1])
    print(f"The report, with figures and all readings: {report}")
    print(f"Kept as runs {runs[0]} and {runs[1]} in {database}, apart from your own.")
    print(said([*_next(runs[-1], database)]))
    if args.open:
        open_in_browser(report)
    return 0


def demo_database() -> Path:
    """Beside the one in use, so that nothing of the demo's gets among what was measured."""
    return database_path().with_name(DATABASE)


def _next(run: int, database: Path) -> Iterator[Step]:
    named = naming(database)
    yield Step(why="what it proves, and how sure that is", words=("analyse", str(run), *named))
    yield Step(why="with your own printer, led from the start", words=("begin",))


def _reported(database: Path, run: int) -> Path:
    """The file of the report, where the daemon keeps its own."""
    from hostctl.cli.main import COMMANDS
    from hostctl.cli.parsing import understood
    from hostctl.cli.report import written
    from hostctl.daemon.reports.folder import NAME, Folder

    folder = Folder(database.resolve(), REPORTS if database == demo_database() else NAME)
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
