"""`hostctl show RUN`: the answer of a run, what was read, and its readings."""

from argparse import ArgumentParser, Namespace
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import run_number

if TYPE_CHECKING:
    from hostctl.report.document.blocks import Document, Table

EXAMPLE = "hostctl show 2 --readings"


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "run", type=run_number, metavar="RUN", help="its number, as `hostctl runs` lists"
    )
    parser.add_argument("--readings", action="store_true", help="list every reading too")
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises StoreError."""
    print(shown(chosen_database(args), args.run, readings=args.readings))
    return 0


def shown(database: Path, run: int, *, readings: bool = False) -> str:
    """The run as text, judged with the rig check that fits it best; a look, which is recorded.

    Raises StoreError.
    """
    from hostctl.report.document.as_text import as_text

    return as_text(_document(database, run, _table(database, run) if readings else None))


def _document(database: Path, run: int, readings: "Table | None") -> "Document":
    from hostctl.report.analysis.analysis import Wish, judge, kept
    from hostctl.report.analysis.short import document_of_nothing, short_document
    from hostctl.report.enclosed.sourced import sourced_run
    from hostctl.report.kinds.own import own_result_of
    from hostctl.report.sources.looks import look_at
    from hostctl.report.sources.rig_material import rig_for
    from hostctl.report.sources.run_material import NothingCounts, run_material

    try:
        material = run_material(database, run)
    except NothingCounts as nothing:
        return document_of_nothing(nothing.where, nothing.title, readings)
    told = None
    if (own := own_result_of(material.kind)) is not None:
        told = own.question.document(own.found(sourced_run(database, run)), False)
        if not own.beside_analysis:
            return replace(told, blocks=(*told.blocks, *([readings] if readings else [])))
    look = look_at(database, material.seen, None)
    judgement = judge(material, rig_for(database, run), Wish(look=look))
    judged = kept(judgement, material, look, database, datetime.now(UTC))
    document = short_document(judged, readings)
    if told is None:
        return document
    from hostctl.report.kinds.beside import told_below

    return told_below(document, told)


def _table(database: Path, run: int) -> "Table":
    from hostctl.report.analysis.told.readings import readings_table
    from hostctl.store.reading import read_record

    return readings_table(read_record(database, run))
