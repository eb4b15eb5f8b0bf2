"""`hostctl demo`: a rig check, then a comparison of three methods, on a simulated printer."""

import re
from argparse import ArgumentParser, Namespace
from pathlib import Path

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import seed
from hostctl.errors import ConfigError

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
    add_database(parser)


def act(args: Namespace) -> int:
    """Carry out both studies and print what they say. Raises HostctlError."""
    from hostctl.cli.show import shown

    database = chosen_database(args)
    print(INTRODUCTION)
    runs = [_carry_out(study, args.seed, database) for study in STUDIES]
    print(f"\n{shown(database, runs[-1])}\n")
    print(f"Kept as runs {runs[0]} and {runs[1]} in {database}")
    print(f"Look again: hostctl show {runs[1]} · as a table: hostctl export {runs[1]} --csv")
    print("With your own printer: see 'Wiring a real printer' in the README.")
    return 0


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
