"""The directory in use, and reading it again: studies at once, a machine's file when it rests.

A directory with a mistake in it changes nothing. What only a new start can change is said.
"""

import asyncio
from collections.abc import Mapping

from hostctl.config.directory import Directory, read_directory
from hostctl.config.host import Host
from hostctl.config.study import Study
from hostctl.daemon.attending.attendant import Attendant
from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.daemon.notify import Notify
from hostctl.errors import ConfigError
from hostctl.run.station import Station


class InUse:
    """The directory as it was last read without a mistake."""

    def __init__(self, directory: Directory, log: EventLog) -> None:
        self._log = log
        self._started_with = directory.host
        self._use(directory)

    def _use(self, directory: Directory) -> None:
        self.directory = directory
        self._studies = {
            name: tuple(directory.studies_for(filed.checked))
            for name, filed in directory.machines.items()
        }

    def studies_for(self, machine: str) -> tuple[str, ...]:
        """The studies that can be started on this machine."""
        return self._studies[machine]

    def plans(self) -> dict[str, Study]:
        """All studies, by name."""
        return {name: filed.checked for name, filed in self.directory.studies.items()}

    async def reload(self, attendants: Mapping[str, Attendant]) -> None:
        """Read it again. Never fails."""
        path = self.directory.path
        try:
            new = await asyncio.to_thread(read_directory, path)
        except ConfigError as mistakes:
            for mistake in str(mistakes).splitlines():
                self._log.say("not-reloaded", Level.WARNING, why=mistake)
            return
        self._use(_kept_machines(self.directory, new))
        for name, attendant in attendants.items():
            attendant.use(self.directory.machines[name])
            attendant.station.arm_for_s = new.host.arm_for_s
            attendant.station.changed()
        for what in needing_a_restart(self._started_with, new.host):
            self._log.say("restart-needed", Level.WARNING, changed=what)
        self._log.say("reloaded", studies=len(new.studies), machines=len(attendants))


def _kept_machines(old: Directory, new: Directory) -> Directory:
    """The new directory with the machines of the old one, each as its file says now."""
    machines = {name: new.machines.get(name, filed) for name, filed in old.machines.items()}
    return Directory(path=new.path, host=new.host, machines=machines, studies=new.studies)


def needing_a_restart(old: Host, new: Host) -> list[str]:
    """The keys of host.yaml that changed and are looked at only at the start."""
    return [
        key
        for key in Host.model_fields
        if key != "arm_for_s" and getattr(old, key) != getattr(new, key)
    ]


async def reload_when_told(
    told: asyncio.Event, in_use: InUse, attendants: Mapping[str, Attendant], notify: Notify
) -> None:
    """Until cancelled."""
    while True:
        await told.wait()
        told.clear()
        notify.reloading()
        await in_use.reload(attendants)
        notify.ready()


def status_line(stations: Mapping[str, Station]) -> str:
    """How all stations stand, for the service manager."""
    return ", ".join(
        f"{name}: {station.desk.started.study if station.desk.started else station.standing}"
        for name, station in stations.items()
    )
