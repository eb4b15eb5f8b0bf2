"""The directory in use, and reading it again: studies at once, a machine's file when it rests.

A directory with a mistake in it changes nothing. What only a new start can change is said.
"""

import asyncio
import os
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from tempfile import NamedTemporaryFile

from hostctl.config.directory import Directory, Filed, read_directory
from hostctl.config.host import Host
from hostctl.config.load import study_from
from hostctl.config.machine import Machine
from hostctl.config.study import Study
from hostctl.config.yaml_text import Source
from hostctl.daemon.attending.attendant import Attendant
from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.daemon.notify import Notify
from hostctl.errors import ConfigError, DaemonError
from hostctl.run.station import Station

STUDY_MODE = 0o644


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

    def machines(self) -> dict[str, Machine]:
        """All machines, by name, as their files say now."""
        return {name: filed.checked for name, filed in self.directory.machines.items()}

    async def keep_study(self, name: str, text: str) -> Path:
        """Write a new study file, and offer it at once. Nothing is ever overwritten.

        Raises ConfigError where it would not pass, or one of that name is there already;
        DaemonError where it can't be written.
        """
        path = self.directory.path / "studies" / f"{name}.yaml"
        source = Source(str(path), text)
        filed = Filed(study_from(source), source)
        if name in self.directory.studies:
            raise _there_already(path)
        await asyncio.to_thread(_write_new, path, text)
        studies = {**self.directory.studies, name: filed}
        self._use(replace(self.directory, studies=studies))
        self._log.say("study-kept", file=path)
        return path

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


def _write_new(path: Path, text: str) -> None:
    """Whole or not at all, and only where nothing of that name is there."""
    try:
        path.parent.mkdir(exist_ok=True)
        with NamedTemporaryFile("w", encoding="utf-8", dir=path.parent, prefix=".new-") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
            os.fchmod(file.fileno(), STUDY_MODE)
            os.link(file.name, path)  # fails where there is one
    except OSError as cause:
        if path.exists():
            raise _there_already(path) from cause
        what = f"can't be written by the daemon ({cause.strerror or cause})"
        hint = f"Let the daemon's user write in {path.parent}, then keep it again."
        raise DaemonError(str(path), what, hint) from cause


def _there_already(path: Path) -> ConfigError:
    return ConfigError(str(path), "is there already", "Take another name.")


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
