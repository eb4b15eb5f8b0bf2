"""`hostctl run STUDY --machine M`: a study carried out."""

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.saying import resuming
from hostctl.cli.number import seed
from hostctl.errors import RunStopped, UsageError

if TYPE_CHECKING:
    from hostctl.daemon.assembly.plan import Plan
    from hostctl.news import RunFinished

SET_S, READ_S = 12.0, 4.5
"""What a trial takes where simulated people answer, as measured: a gap set, or only read."""
EXAMPLE = "hostctl run rig-check --machine sim-220 --simulated-people"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("study", metavar="STUDY", help="a study file, or the short name of one")
    parser.add_argument(
        "--machine", required=True, metavar="M", help="a machine file, or the short name of one"
    )
    parser.add_argument(
        "--seed",
        type=seed,
        metavar="N",
        help="of the random order, and of nothing else: a simulated machine has its own in its "
        "file; drawn and recorded if left out",
    )
    add_channels(parser)
    add_database(parser)


def add_channels(parser: ArgumentParser) -> None:
    """Declare who answers, and how."""
    parser.add_argument(
        "--jsonl", action="store_true", help="events as JSON lines out, answers as JSON lines in"
    )
    parser.add_argument(
        "--simulated-people",
        action="store_true",
        help="simulated operators answer, at people's pace: three-methods takes over ten minutes; "
        "for sim:// machines",
    )


def act(args: Namespace) -> int:
    """Carry it out. Raises HostctlError; RunStopped when it ended before its last trial."""
    from hostctl.cli.session import Session, carry_out_session
    from hostctl.daemon.assembly.plan import machine_file, plan_from, study_file

    plan = plan_from(study_file(args.study), machine_file(args.machine))
    database = chosen_database(args)
    finished = carry_out_session(
        Session(
            plan=plan,
            database=database,
            channels=channels_for(args, plan),
            seed=args.seed,
        )
    )
    return tell_end(finished, args, database)


def channels_for(args: Namespace, plan: "Plan") -> dict[str, dict[str, object]]:
    """The channels the options ask for. Raises UsageError where simulated people can't be."""
    port = plan.machine.port
    if args.simulated_people and not port.startswith("sim://"):
        raise UsageError(
            "--simulated-people",
            f"they can't stand at the port {port}",
            "Take a machine whose port is sim://…, such as sim-220.",
        )
    if not args.simulated_people:
        return {"json-lines": {}} if args.jsonl else {"terminal": {}}
    watching: dict[str, dict[str, object]] = (
        {"json-lines": {"alone": False}}
        if args.jsonl
        else {"progress": {"seconds_a_trial": _pace_s(plan)}}
    )
    return {**watching, "simulated-people": {"url": port}}


def _pace_s(plan: "Plan") -> float:
    """What a trial takes simulated people and their printer, about."""
    from hostctl.config.study_kind import words_of

    return SET_S if words_of(plan.study.kind).people_set else READ_S


def tell_end(finished: "RunFinished", args: Namespace, database: Path) -> int:
    """The verdict of what was just recorded, and what is useful next.

    Raises RunStopped when the run is not complete.
    """
    if not args.jsonl:
        from hostctl.cli.next_steps.saying import after_carried_out
        from hostctl.cli.show import shown

        text, found = shown(database, finished.run)
        print(f"\n{text}\n\nKept as run {finished.run} in {database}")
        if finished.complete:
            print(after_carried_out(args, database, finished.run, found))
    if not finished.complete:
        raise RunStopped(
            f"run {finished.run}",
            f"ended before its last trial ({finished.reason})",
            f"Go on with: {resuming(finished.run, database)}",
        )
    return 0
