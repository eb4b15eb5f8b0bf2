"""A gauge, and how its readings are taken."""

from dataclasses import dataclass

from hostctl.config.study import Study
from hostctl.gauges.gauge import Gauge
from hostctl.machine.machine import Machine
from hostctl.run import wording
from hostctl.run.asking import Asking
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps.sources import Sources
from hostctl.run.steps.taking import Taking


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """One of a study's gauges. instrument: what it is in a person's words."""

    gauge: Gauge
    taking: Taking
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Readers:
    """Of one run. second: None where one gauge alone reads."""

    first: Reader
    second: Reader | None

    @classmethod
    def of(
        cls,
        study: Study,
        machine: Machine,
        sources: Sources,
        asking: Asking,
        journal: Journal,
        progress: Progress,
    ) -> "Readers":
        """Each as if the study had no other gauge."""

        def made(of: Study, gauge: Gauge) -> Reader:
            taking = Taking(
                study=of,
                machine=machine,
                gauge=gauge,
                asking=asking,
                journal=journal,
                progress=progress,
            )
            return Reader(gauge=gauge, taking=taking, instrument=wording.instrument(of))

        other = study.model_copy(update={"gauge": study.second_gauge})
        second = made(other, sources.second) if sources.second is not None else None
        return cls(first=made(study, sources.gauge), second=second)
