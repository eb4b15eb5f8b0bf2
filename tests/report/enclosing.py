"""Reports as files, as far as their data go: analysed, enclosed, and laid out as a bare page."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.enclosed.enclosure import Asked, Enclosure
from hostctl.report.enclosed.sourced import Sourced, sourced_material, sourced_run
from hostctl.report.enclosed.writing import enclosed_json, metas_of, script_of, sealed
from hostctl.report.sources.looks import look_at
from hostctl.report.sources.material import Block, Goal, Material, together
from hostctl.report.sources.rig_material import rig_for
from hostctl.store.file.program import program

MADE_AT = datetime(2031, 5, 6, 15, 0, tzinfo=UTC)


def enclosure_of(
    sources: Sequence[Sourced], rig: Sourced | None = None, database: Path | None = None
) -> Enclosure:
    """What a report of these encloses."""
    material = together([source.material for source in sources])
    look = look_at(database, material.seen, None)
    wish = Wish(goal=material.goal, look=look)
    found = analyse(material, rig.material if rig is not None else None, wish)
    return Enclosure(
        program=program(),
        made_at=MADE_AT,
        sources=tuple(sources),
        rig=rig,
        asked=Asked(goal=material.goal, look=look),
        checks=(),
        found=ANALYSIS.data(found),
    )


def enclosure_of_runs(database: Path, *runs: int) -> Enclosure:
    """The same of runs on record, with the rig check that fits."""
    rig = rig_for(database, runs[0])
    taken_out = replace(sourced_run(database, rig.seen[0].run), material=rig) if rig else None
    return enclosure_of([sourced_run(database, run) for run in runs], taken_out, database)


def bare_page(enclosure: Enclosure) -> str:
    """A page that holds it and next to nothing else."""
    text = enclosed_json(enclosure)
    return sealed(
        f'<!doctype html>\n<html lang="en">\n<head>\n<title>A report</title>\n{metas_of(text)}\n'
        f"</head>\n<body>\n<p>What was found.</p>\n{script_of(text)}\n</body>\n</html>\n"
    )


def written(path: Path, enclosure: Enclosure) -> Path:
    """The page as a file."""
    path.write_bytes(bare_page(enclosure).encode())
    return path


def of_workshop(machine: str, values_mm: Sequence[float], **changes: object) -> Sourced:
    """Readings of one method from a datum, as if from a file that names the machine."""
    block = Block(method="slip", operator="helper", point="p", values_mm=list(values_mm))
    known = Material(
        name="readings",
        title=f"A study on {machine}",
        kind="comparison",
        machine=machine,
        reference="datum",
        zero_known=True,
        resolution_mm=0.01,
        resolution_from="named in the file",
        blocks=(block,),
        goal=Goal(within_mm=0.1),
        notes=(),
    )
    return sourced_material(replace(known, **changes))  # type: ignore[arg-type]
