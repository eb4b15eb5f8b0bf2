"""From what somebody asks to have reported, to all that a report is made of."""

from argparse import Namespace
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from hostctl.cli.database import chosen_database
from hostctl.cli.sources import is_run, material_of, rig_of, wish_of
from hostctl.report.analysis.analysis import analyse, kept
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.document.blocks import Document
from hostctl.report.enclosed.enclosure import Asked, Enclosure, RigCheck
from hostctl.report.enclosed.letters import with_letters
from hostctl.report.enclosed.sourced import Sourced, sourced_material, sourced_run
from hostctl.report.enclosed.writing import data_sha256, enclosed_json
from hostctl.report.sources.material import Material, only, together
from hostctl.report.whole.document import REPORT
from hostctl.report.whole.result import Enclosed, Report
from hostctl.store.file.program import program


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """A report: what it encloses, that as JSON text, what it shows, and how that is told."""

    enclosure: Enclosure
    json_text: str
    report: Report
    document: Document


def made(args: Namespace, at: datetime) -> Made:
    """Read, analysed and told. Raises StoreError, DataError, UsageError."""
    database = chosen_database(args)
    asked_for = _enclosure(args, at)
    if args.letters:
        asked_for = with_letters(asked_for)
    material = _analysed(args, asked_for.sources)
    wish = wish_of(args, material)
    rig = asked_for.rig.material if asked_for.rig is not None else None
    found = kept(analyse(material, rig, wish), material, wish.look, database, at)
    asked = replace(asked_for.asked, goal=wish.goal, look=wish.look)
    enclosure = replace(asked_for, asked=asked, found=ANALYSIS.data(found))
    json_text = enclosed_json(enclosure)
    report = report_of(enclosure, found, json_text)
    return Made(
        enclosure=enclosure,
        json_text=json_text,
        report=report,
        document=REPORT.document(report, True),
    )


def _enclosure(args: Namespace, at: datetime) -> Enclosure:
    """All but what was found."""
    sources = [one for source in args.sources for one in _sourced(args, source)]
    rig = rig_of(args, together([source.material for source in sources]))
    return Enclosure(
        program=program(),
        made_at=at,
        sources=tuple(sources),
        rig=None if rig is None else _with_rows(args, rig),
        asked=Asked(
            margin=args.margin, method=args.method, operator=args.operator, apart=args.apart
        ),
        checks=tuple(_checks(chosen_database(args), sources)),
        found={},
    )


def _analysed(args: Namespace, sources: Sequence[Sourced]) -> Material:
    return only(together([source.material for source in sources]), args.method, args.operator)


def _sourced(args: Namespace, source: str) -> Iterator[Sourced]:
    if is_run(source):
        yield sourced_run(chosen_database(args), int(source))
    else:
        yield sourced_material(material_of(args, source))


def _with_rows(args: Namespace, rig: Material) -> Sourced:
    """A rig check with every reading of it, its notes as they are said of these readings."""
    if not rig.seen:
        return sourced_material(rig)
    return replace(sourced_run(chosen_database(args), rig.seen[0].run), material=rig)


def _checks(database: Path, sources: Sequence[Sourced]) -> Iterator[RigCheck]:
    """The rig checks of the machine over time, where all readings are of one."""
    from hostctl.report.history.checks import checks_of, checks_on
    from hostctl.store.reading import list_runs

    machines = {source.account.machine if source.account else "" for source in sources}
    if len(machines) > 1 or "" in machines:
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


def report_of(enclosure: Enclosure, found: Analysis, json_text: str) -> Report:
    return Report(
        analysis=found,
        rows=(),
        blocks=(),
        order=(),
        foresight=(),
        conduct=(),
        rig=None,
        history=None,
        enclosed=Enclosed(
            readings=enclosure.readings, sha256=data_sha256(json_text), file=None, letters=False
        ),
        made_at=enclosure.made_at,
        program=enclosure.program,
    )
