"""Reports of studies that no database holds."""

from collections.abc import Sequence
from datetime import UTC, datetime

from random_studies import random_study

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.enclosed.enclosure import Asked, Enclosure, RigCheck
from hostctl.report.enclosed.sourced import Sourced, sourced_material
from hostctl.report.sources.looks import UNRECORDED, Looking
from hostctl.report.sources.material import Material, together
from hostctl.report.whole.found.report import report_of
from hostctl.report.whole.result import Enclosed, Report

NOON = datetime(2026, 11, 28, 12, 0, tzinfo=UTC)
HASH = "0123456789abcdef" * 4


def reported(
    *materials: Material,
    rig: Material | None = None,
    checks: Sequence[RigCheck] = (),
    look: Looking = UNRECORDED,
    margin: float = 1.5,
) -> Report:
    """The report of these, taken together."""
    material = together(materials)
    wish = Wish(goal=material.goal, margin=margin, look=look)
    sources = tuple(map(sourced_material, materials))
    rig_source = sourced_material(rig) if rig is not None else None
    return report_from(sources, rig_source, material, analyse(material, rig, wish), checks)


def report_from(
    sources: Sequence[Sourced],
    rig: Sourced | None,
    material: Material,
    analysis: Analysis,
    checks: Sequence[RigCheck] = (),
) -> Report:
    """The same, of an analysis at hand."""
    enclosure = Enclosure(
        program="hostctl 0.1.0",
        made_at=NOON,
        sources=tuple(sources),
        rig=rig,
        asked=Asked(goal=analysis.goal),
        checks=tuple(checks),
        found={},
    )
    carried = Enclosed(readings=enclosure.readings, sha256=HASH, file=None, letters=False)
    return report_of(enclosure, material, analysis, carried)


def random_report(seed: int) -> Report:
    """The report of the random study of this seed."""
    study = random_study(seed)
    return reported(study.material, rig=study.rig, look=study.look, margin=study.margin)
