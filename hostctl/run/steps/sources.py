"""What a run is told things by: the gauge, and what tells of contact where nobody has to look."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from hostctl.config.parts.gauge import Gauge as Settings
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.gauges.contact import Contact, contact_for
from hostctl.gauges.gauge import BytePortOpener, Gauge, GaugeParts, gauge_for
from hostctl.machine.machine import Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """Of one run. second: None where one gauge alone reads.  contact: None: a person says whether
    there is, or it needs none."""

    gauge: Gauge
    second: Gauge | None
    contact: Contact | None

    @classmethod
    def of(
        cls,
        study: Study,
        machine: Machine,
        now: Callable[[], datetime],
        open_port: BytePortOpener | None,
    ) -> "Sources":
        """As the study says. Raises PluginError, or ConfigError where a line can't be had."""
        where = f"study '{study.study}'"

        def made(settings: Settings, which: str) -> Gauge:
            return gauge_for(
                GaugeParts(
                    settings=settings,
                    cycle=study.cycle,
                    where=f"{where}, {which}",
                    machine=machine,
                    now=now,
                    open_port=open_port,
                    loop=study.loop,
                    may_hang=words_of(study.kind).turns_screws,
                )
            )

        second = study.second_gauge
        return cls(
            gauge=made(study.gauge, "gauge"),
            second=made(second, "second_gauge") if second is not None else None,
            contact=contact_for(study.tie, machine, where) if study.tie else None,
        )

    async def check_there(self) -> None:
        """Before anything moves: what tells of contact can be asked. Raises MachineError."""
        if self.contact is not None:
            await self.contact.check_there()

    async def close(self) -> None:
        """Let go of what they hold open."""
        await self.gauge.close()
        if self.second is not None:
            await self.second.close()
        if self.contact is not None:
            await self.contact.close()
