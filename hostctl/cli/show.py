"""`hostctl show RUN`: the answer of a run, what was read, and its readings."""

from argparse import ArgumentParser, Namespace
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.saying import say_after_run
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
    database = chosen_database(args)
    text, found = shown(database, args.run, readings=args.readings)
    print(text)
    say_after_run(database, args.run, found, by="show")
    return 0


def shown(database: Path, run: int, *, readings: bool = False) -> tuple[str, object]:
    """The run as text, judged with the rig check that fits it best; a look, which is recorded.

    And what was found, as the next step goes by it. Raises StoreError.
    """
    from hostctl.report.document.as_text import as_text

    document, found = _document(database, run, _table(database, run) if readings else None)
    return as_text(document), found


def _document(database: Path, run: int, readings: "Table | None") -> "tuple[Document, object]":
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
        return document_of_nothing(nothing.where, nothing.title, readings), None
    told = None
    if (own := own_result_of(material.kind)) is not None:
        found = own.found(sourced_run(database, run))
        told = own.question.document(found, False)
        if not own.beside_analysis:
            return replace(told, blocks=(*told.blocks, *([readings] if readings else []))), found
    look = look_at(database, material.seen, None)
    judgement = judge(material, rig_for(database, run), Wish(look=look))
    judged = kept(judgement, material, look, database, datetime.now(UTC))
    document = short_document(judged, readings)
    if told is None:
        return document, judged
    from hostctl.report.kinds.beside import told_below

    return told_below(document, told), found


def _table(database: Path, run: int) -> "Table":
    from hostctl.report.analysis.told.readings import readings_table
    from hostctl.store.reading import read_record

    return readings_table(read_record(database, run))
