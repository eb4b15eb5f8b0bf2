"""Where readings come from, and how they are judged: of every command that analyses them."""

import os
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import number, whole
from hostctl.errors import DataError, UsageError
from hostctl.metrology.basis.reference import Reference
from hostctl.report.analysis.analysis import Wish
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Material, check_rig, goal_for, together

if TYPE_CHECKING:
    from hostctl.report.trueness.aimed import Aim

_MARGIN = 1.5
_PAGE = b"<!doctype html"
_MOST_LOOKS = 1000
_SUREST = 0.9999  # beyond it the normal law itself is the doubt


def add_sources(parser: ArgumentParser) -> None:
    """Declare the options of what is analysed, and how."""
    parser.add_argument(
        "sources",
        nargs="+",
        metavar="RUN|FILE",
        help="a run's number, a CSV export that somebody already has, or a report, which holds its "
        "readings; several are taken as one, and three workshops or more are held against each "
        "other too",
    )
    parser.add_argument(
        "--rig",
        metavar="RUN|FILE",
        help="the rig check to take out; without it the one that fits best, or a report's own",
    )
    parser.add_argument(
        "--tolerance", type=_above_zero, metavar="MM", help="plus or minus; else the study's own"
    )
    parser.add_argument(
        "--proportion", type=_share, metavar="P", help="share of settings within it; 0.95"
    )
    parser.add_argument("--confidence", type=_share, metavar="C", help="how sure; 0.95")
    parser.add_argument(
        "--looks",
        type=whole(1, _MOST_LOOKS),
        metavar="N",
        help="how often the claim is judged in all as trials come in, said at the first look; "
        "without it each look spends less of the risk",
    )
    parser.add_argument(
        "--margin",
        type=_ratio,
        metavar="R",
        help="spreads within this ratio count as equally good; 1.5",
    )
    parser.add_argument(
        "--target",
        type=_above_zero,
        metavar="MM",
        help="the gap wanted, of readings that are gaps in mm; else the study's own",
    )
    parser.add_argument(
        "--on-target",
        type=_above_zero,
        metavar="MM",
        help="a mean gap no further off is on target; else the study's own, or never said",
    )
    parser.add_argument("--method", metavar="NAME", help="this method only")
    parser.add_argument("--operator", metavar="NAME", help="this operator only")
    files = parser.add_argument_group("what a file does not say itself")
    files.add_argument(
        "--column",
        action="append",
        default=[],
        type=_column,
        metavar="ROLE=NAME",
        help="that column is the reading, unit, method, operator, point, trial, block, round, "
        "date, time, resolution, zero or void",
    )
    files.add_argument("--unit", choices=("mm", "um", "in", "mil"), help="of its readings; mm")
    files.add_argument(
        "--resolution", type=_above_zero, metavar="MM", help="what its readings were read to"
    )
    files.add_argument(
        "--reference",
        choices=("first", "previous", "datum"),
        help="what its readings count from: a first setting, the one before, or a datum",
    )
    files.add_argument(
        "--tie-doubt",
        type=_above_zero,
        metavar="MM",
        help="with --target: standard uncertainty of where its gaps are 0; else taken as exact",
    )
    add_database(parser)
    parser.set_defaults(command=parser.prog)


def check_once(args: Namespace) -> None:
    """Raises UsageError: the same readings counted twice would look like twice the evidence."""
    known = [_key(source) for source in args.sources]
    again = next((s for k, s in enumerate(args.sources) if known[k] in known[:k]), None)
    if again is not None:
        raise UsageError(args.command, f"{again} is given twice", "Name each source once.")


def wish_of(args: Namespace, material: Material) -> Wish:
    """How it is to be judged. Raises StoreError."""
    goal = goal_for(
        material.goal,
        within_mm=args.tolerance,
        proportion=args.proportion,
        confidence=args.confidence,
    )
    look = look_at(chosen_database(args), material.seen, args.looks)
    return Wish(goal=goal, margin=args.margin or _MARGIN, look=look)


def aim_of(args: Namespace) -> "Aim | None":
    """What gap is said to be wanted, or how far off it is still on target.

    Raises UsageError where only a doubt is.
    """
    if args.target is None and args.tie_doubt is not None:
        raise UsageError(args.command, "--tie-doubt needs the gap wanted", "Say --target MM.")
    if args.target is None and args.on_target is None:
        return None
    if args.reference not in (None, "datum"):
        what = f"readings that count from --reference {args.reference} are no gaps"
        raise UsageError(args.command, what, "Leave one of the two out.")
    from hostctl.report.trueness.aimed import Aim

    return Aim(target_mm=args.target, margin_mm=args.on_target, tie_u_mm=args.tie_doubt)


def material_of(args: Namespace, source: str) -> Material:
    """The readings of one source, held against the gap that is said to be wanted.

    Raises StoreError, DataError, UsageError.
    """
    return held_against(as_it_stands(args, source), aim_of(args))


def held_against(material: Material, aim: "Aim | None") -> Material:
    """The same, held against a gap where one is said to be wanted. Raises DataError."""
    if aim is None:
        return material
    from hostctl.report.trueness.aimed import aimed

    return aimed(material, aim)


def as_it_stands(args: Namespace, source: str) -> Material:
    """The same, held against nothing. Raises StoreError, DataError, UsageError."""
    return _material_of(args, source, args.reference if args.target is None else "datum")


def _material_of(args: Namespace, source: str, reference: Reference | None) -> Material:
    """A number is a run, unless a file is called so. What only one of them needs is loaded here."""
    if is_run(source):
        from hostctl.report.sources.run_material import run_material

        return run_material(chosen_database(args), int(source))
    if is_report(source):
        from hostctl.report.enclosed.reading import enclosed_of

        return together([one.material for one in enclosed_of(Path(source)).sources])
    if source.endswith(".data.json"):
        what = "holds the data of a report"
        raise DataError(source, what, "Name the page that it belongs to, beside it.")
    from hostctl.report.sources.tables.table_file import Asked, table_material

    return table_material(
        Path(source),
        Asked(
            columns=_columns(args),
            unit=args.unit,
            resolution_mm=args.resolution,
            reference=reference,
        ),
    )


def _columns(args: Namespace) -> dict[str, str]:
    columns = dict(args.column)
    if len(columns) < len(args.column):
        what = "--column gives one role two columns"
        raise UsageError(args.command, what, "Analyse one column at a time.")
    return columns


def rigs_differ(materials: Sequence[Material]) -> bool:
    """Whether people set several machines, so that no one rig is in all of the readings."""
    of = ((block.workshop, one.machine) for one in materials for block in one.blocks)
    workshops = {workshop or machine for workshop, machine in of} - {""}
    return len(workshops) > 1 and not materials[0].nobody_set


def rig_of(args: Namespace, materials: Sequence[Material], material: Material) -> Material | None:
    """The rig check that was named; or the one that fits the first run best, where all are of one
    machine. material: what they come to together."""
    runs = [int(source) for source in args.sources if is_run(source)]
    if args.rig is not None:
        return _named_rig_of(args, material, runs)
    if not runs or rigs_differ(materials):
        return None
    from hostctl.report.sources.rig_material import rig_for

    rig = rig_for(chosen_database(args), runs[0])
    files = [Path(source).name for source in args.sources if not is_run(source)]
    return _doubted(rig, runs[0], files) if rig is not None and files else rig


def _doubted(rig: Material, run: int, files: Sequence[str]) -> Material:
    """A file names no machine, so nobody knows whether its readings have this rig in them."""
    doubt = (
        f"{rig.name} is taken out of {', '.join(files)} as well as of run {run}: right only where "
        "the same machine, indicator and mount took these readings. Else analyse them one by one."
    )
    return replace(rig, notes=(doubt, *rig.notes))


def _named_rig_of(args: Namespace, material: Material, runs: Sequence[int]) -> Material:
    """The rig check that was named. Raises DataError for another machine's, or where people set."""
    if _key(args.rig) in map(_key, args.sources):
        what = f"{args.rig} can't be the study and its own rig check"
        raise UsageError(args.command, what, "Name another, or leave out --rig.")
    rig = _material_of(args, args.rig, args.reference)
    check_rig(rig, material.machine)
    if not is_run(args.rig):
        return replace(rig, notes=_not_said_yet(rig, material))
    from hostctl.report.sources.rig_material import named_rig

    judged = runs[0] if runs else None
    return named_rig(chosen_database(args), int(args.rig), rig, judged)


def _not_said_yet(rig: Material, material: Material) -> tuple[str, ...]:
    """Its notes, but for those that hold of the readings too and are said of them."""
    said = tuple(material.notes)
    new = (note for note in rig.notes if not any(one.endswith(note) for one in said))
    return tuple(f"{rig.name}: {note}" for note in new)


def _key(source: str) -> int | Path:
    """What a source is, however it is written."""
    return int(source) if is_run(source) else Path(os.path.realpath(source))


def is_run(source: str) -> bool:
    """Whether it names a run of the database."""
    return (
        source.isascii() and source.isdecimal() and len(source) < 19 and not Path(source).is_file()
    )


def is_report(source: str) -> bool:
    """Whether it names a report: by its ending, or since it begins as a page does."""
    path = Path(source)
    if path.suffix.lower() in (".html", ".htm"):
        return True
    try:
        if not path.is_file():  # a pipe would wait for ever
            return False
        with path.open("rb") as file:
            return file.read(len(_PAGE)).lower() == _PAGE
    except OSError:
        return False


def _above_zero(text: str) -> float:
    if (value := number(text)) > 0:
        return value
    raise ArgumentTypeError(f"{text} is not above 0")


def _share(text: str) -> float:
    if 0.5 < (value := number(text)) <= _SUREST:
        return value
    percent = f" (as a share: {value / 100:g})" if 50 < value < 100 else ""
    raise ArgumentTypeError(f"{text} is not between 0.5 and {_SUREST}{percent}")


def _ratio(text: str) -> float:
    if (value := number(text)) > 1:
        return value
    raise ArgumentTypeError(f"{text} is not above 1")


def _column(text: str) -> tuple[str, str]:
    from hostctl.report.sources.tables.columns import NAMES

    role, equals, name = text.partition("=")
    if not equals or role not in NAMES:
        raise ArgumentTypeError(f"'{text}' is not ROLE=NAME with one of {', '.join(NAMES)}")
    return role, name
