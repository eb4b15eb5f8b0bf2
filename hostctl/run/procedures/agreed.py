"""What a run begins with: its study's procedure, looked at, and where the run has come to."""

from hostctl.gauges.gauge import Gauge
from hostctl.run.order import RunOrder
from hostctl.run.procedures.procedure import ProcedureParts, Trial
from hostctl.run.procedures.proposals import Proposals
from hostctl.run.procedures.schedule import begins_with_zero
from hostctl.run.procedures.tying import blocks_of_its_own
from hostctl.run.record.progress import Progress


def agreed(order: RunOrder, gauge: Gauge) -> tuple[Proposals, Progress]:
    """The study's procedure, its first step looked at, and where the run has come to.

    Raises PluginError where the study's kind is missing, broken, or proposes what can't be done.
    """
    parts = ProcedureParts(
        study=order.study,
        machine=order.machine,
        seed=order.resume.summary.new.seed if order.resume else order.seed,
        zeros=begins_with_zero(order.study, gauge_has_own_zero=gauge.own_zero),
    )
    proposals = Proposals(parts, gauge_is_typed=gauge.typed or gauge.sends_on_press)
    hear = proposals.hear if proposals.hears else None
    progress = Progress(proposals.most_trials, blocks_of_its_own(order.study), hear)
    if order.resume:
        progress.recall(order.resume)
    first = proposals.next(progress.so_far)
    if isinstance(first, Trial):
        proposals.deeds(progress.place(0, first), progress.so_far)
    return proposals, progress
