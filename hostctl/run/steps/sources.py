"""What a run is told things by: the gauge, and what tells of contact where nobody has to look."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from hostctl.config.study import Study
from hostctl.gauges.contact import Contact, contact_for
from hostctl.gauges.gauge import BytePortOpener, Gauge, GaugeParts, gauge_for
from hostctl.machine.machine import Machine


@dataclass(frozen=True, slots=True, kw_only=True)
class Sources:
    """Of one run. contact: None: a person says whether there is, or it needs none."""

    gauge: Gauge
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
        gauge = gauge_for(
            GaugeParts(
                settings=study.gauge,
                cycle=study.cycle,
                where=f"{where}, gauge",
                machine=machine,
                now=now,
                open_port=open_port,
                loop=study.loop,
            )
        )
        contact = contact_for(study.tie, machine, where) if study.tie else None
        return cls(gauge=gauge, contact=contact)

    async def check_there(self) -> None:
        """Before anything moves: what tells of contact can be asked. Raises MachineError."""
        if self.contact is not None:
            await self.contact.check_there()

    async def close(self) -> None:
        """Let go of what they hold open."""
        await self.gauge.close()
        if self.contact is not None:
            await self.contact.close()
