"""From what somebody asks to have reported, to all that a report is made of."""

from argparse import Namespace
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from hostctl.cli.database import chosen_database
from hostctl.cli.gathered import Chosen, Gathered, gathered
from hostctl.cli.long_work import LongWork
from hostctl.cli.own_results import OwnFound, own_found, with_own
from hostctl.report.analysis.analysis import analyse, kept, noted
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.document.blocks import Document
from hostctl.report.enclosed.enclosure import MOST_IN_PAGE, Asked, Enclosure, RigCheck
from hostctl.report.enclosed.letters import Letters
from hostctl.report.enclosed.sourced import Sourced
from hostctl.report.enclosed.writing import data_sha256, enclosed_json
from hostctl.report.kinds.outcome import Outcome, outcome_of
from hostctl.report.kinds.own_report import carried_out, own_report
from hostctl.report.whole.document import REPORT
from hostctl.report.whole.found.report import report_of
from hostctl.report.whole.naming import file_stem
from hostctl.report.whole.result import Enclosed
from hostctl.store.file.program import program

DATA_FILE = ".data.json"
STAGES = {"Reading": 7.0, "Analysing": 44.0, "Drawing": 3.5, "Writing": 0.2}
"""Of the work, with their shares of the time that a million readings take."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A report. stem: what its files are called, without ending.  json_text: the data enclosed.
    document: how the report is told, its formulas included.  data: what was found, for other
    programs.  outcome: what it comes to in short.  file: beside the page, with the data; None where
    they are in it.  sources: every reading of it."""

    stem: str
    json_text: str
    document: Document
    data: Callable[[], dict[str, Any]]
    outcome: Callable[[], Outcome]
    file: str | None
    sources: tuple[Sourced, ...]


def made(args: Namespace, at: datetime, work: LongWork) -> Made:
    """Read, analysed and told. work: of which three STAGES are done then.

    Raises StoreError, DataError, UsageError.
    """
    database = chosen_database(args)
    with work.stage("Reading"):
        of = _asked_for(args)
    with work.stage("Analysing"):
        own = own_found(args, of)
        alone = own is not None and not own.beside_analysis
        found = None if alone else analyse(of.material, of.rig, of.wish)
    with work.stage("Drawing"):
        if found is None:
            assert own is not None
            return _own_told(args, of, own, at)
        found = kept(found, of.material, of.wish.look, database, at)
        return _told(args, of, found, own, at)


def _told(
    args: Namespace, of: Gathered, found: Analysis, own: OwnFound | None, at: datetime
) -> Made:
    if of.has_remarks:
        found = noted(found, of.remarks_on(with_own(ANALYSIS, found, own)))
    checks = tuple(_checks(chosen_database(args), of.sources))
    enclosure = _enclosure(of, with_own(ANALYSIS, found, own), at, checks)
    json_text = enclosed_json(enclosure)
    carried = _carried(args, enclosure, json_text)
    report = report_of(enclosure, of.material, found, carried)
    document = REPORT.document(report, True)
    if own is not None:
        document = own.below(document, explained=True)
    return Made(
        stem=_stem(args, enclosure),
        json_text=json_text,
        document=document,
        data=lambda: with_own(REPORT, report, own),
        outcome=lambda: outcome_of(document, of.material.kind, found),
        file=carried.file,
        sources=enclosure.every_source,
    )


def _own_told(args: Namespace, of: Gathered, own: OwnFound, at: datetime) -> Made:
    """The report of a run whose kind has a result of its own, and no analysis of settings."""
    enclosure = _enclosure(of, own.data, at, ())
    json_text = enclosed_json(enclosure)
    carried = _carried(args, enclosure, json_text)
    told = own_report(own.document(explained=True), carried_out(enclosure, carried))
    return Made(
        stem=_stem(args, enclosure),
        json_text=json_text,
        document=told,
        data=lambda: own.data,
        outcome=lambda: outcome_of(told, of.material.kind, own.result),
        file=carried.file,
        sources=enclosure.every_source,
    )


def _enclosure(
    of: Gathered, found: Mapping[str, Any], at: datetime, checks: tuple[RigCheck, ...]
) -> Enclosure:
    return Enclosure(
        program=program(),
        made_at=at,
        sources=of.sources,
        rig=of.rig_source,
        asked=_asked(of),
        checks=checks,
        found=found,
    )


def _stem(args: Namespace, enclosure: Enclosure) -> str:
    return Path(args.o).stem if args.o else file_stem(enclosure)


def _carried(args: Namespace, enclosure: Enclosure, json_text: str) -> Enclosed:
    many = enclosure.readings > MOST_IN_PAGE
    return Enclosed(
        readings=enclosure.readings,
        sha256=data_sha256(json_text),
        file=f"{_stem(args, enclosure)}{DATA_FILE}" if many else None,
        letters=args.letters,
    )


def _asked_for(args: Namespace) -> Gathered:
    """What is to be analysed, people called by letters where that is wished."""
    of = gathered(args, with_rows=True)
    if not args.letters:
        return of
    letters = Letters([*of.sources, *([of.rig_source] if of.rig_source is not None else [])])
    return replace(
        of,
        material=letters.material(of.material),
        rig=None if of.rig is None else letters.material(of.rig),
        sources=tuple(map(letters.sourced, of.sources)),
        rig_source=None if of.rig_source is None else letters.sourced(of.rig_source),
        alone=None,  # what it found is under other names
        chosen=_in_letters(of.chosen, letters),
        remarks=tuple(map(letters.text, of.remarks)),
    )


def _in_letters(chosen: Chosen, letters: Letters) -> Chosen:
    method, operator = chosen.method, chosen.operator
    return replace(
        chosen,
        method=None if method is None else letters.text(method),
        operator=None if operator is None else letters.operator(operator),
    )


def _asked(of: Gathered) -> Asked:
    return Asked(
        goal=of.wish.goal,
        margin=of.wish.margin,
        method=of.chosen.method,
        operator=of.chosen.operator,
        apart=of.chosen.apart,
        aim=of.chosen.aim,
        look=of.wish.look,
    )


def _checks(database: Path, sources: Sequence[Sourced]) -> Iterator[RigCheck]:
    """The rig checks of the machine over time, where all readings are of one, and on record."""
    from hostctl.report.history.checks import checks_of, checks_on
    from hostctl.store.reading import list_runs

    machines = {source.account.machine if source.account else "" for source in sources}
    if len(machines) > 1 or "" in machines or not all(s.material.seen for s in sources):
        return
    for check in checks_of(database, checks_on(list_runs(database), *machines))[0]:
        yield RigCheck(
            name=check.name,
            at=check.at,
            n=check.n,
            sd_mm=check.sd_mm,
            df=check.df,
            resolution_mm=check.resolution_mm,
            mean_mm=check.mean_mm,
        )
