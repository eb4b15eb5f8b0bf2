"""A report made of what was analysed and what came of it."""

from collections.abc import Sequence

from hostctl.report.analysis.result.analysis import Analysis
from hostctl.report.analysis.sums.rows import centred
from hostctl.report.enclosed.enclosure import Enclosure, RigCheck
from hostctl.report.history.result import Check, History
from hostctl.report.sources.material import Material
from hostctl.report.sources.sample import samples_of
from hostctl.report.whole.found.blocks import blocks_of, counts_of
from hostctl.report.whole.found.conduct import conduct_of
from hostctl.report.whole.found.foresight import foresight_of
from hostctl.report.whole.found.order import order_of
from hostctl.report.whole.found.ties import ties_of
from hostctl.report.whole.result import Enclosed, Report


def report_of(
    enclosure: Enclosure, material: Material, analysis: Analysis, enclosed: Enclosed
) -> Report:
    """material: what was analysed, made of the sources of the enclosure, in their order.
    enclosed: how they are carried."""
    results = analysis.results
    blocks = centred(samples_of(material), results)
    conduct = (conduct_of(source) for source in enclosure.sources)
    return Report(
        analysis=analysis,
        counts=counts_of(results),
        blocks=blocks_of(blocks, zero_counts=material.reference == "first"),
        order=order_of(enclosure.sources, material, blocks),
        ties=ties_of(material.tied),
        foresight=foresight_of(results, analysis.largest),
        conduct=tuple(one for one in conduct if one is not None),
        rig=conduct_of(enclosure.rig) if enclosure.rig is not None else None,
        history=_history(analysis.source.machine, enclosure.checks),
        enclosed=enclosed,
        made_at=enclosure.made_at,
        program=enclosure.program,
    )


def _history(machine: str | None, checks: Sequence[RigCheck]) -> History | None:
    """None with fewer than two checks that have a spread."""
    known = [
        Check(
            name=one.name,
            at=one.at,
            n=one.n,
            sd_mm=one.sd_mm,
            df=one.df,
            resolution_mm=one.resolution_mm,
            mean_mm=one.mean_mm,
        )
        for one in checks
        if one.sd_mm is not None and one.df is not None
    ]
    if len(known) < 2:
        return None
    from hostctl.report.history.history import history_of_checks  # loads numpy

    left_out = [one.name for one in checks if one.sd_mm is None or one.df is None]
    subject = f"the rig of {machine}" if machine else "the rig"
    return history_of_checks(subject, known, left_out, baseline=None)
