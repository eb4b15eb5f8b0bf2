"""What a station shows of its machine's own doings: what is warm, and a job that is not ours."""

from hostctl.daemon.log.event_log import EventLog, Level
from hostctl.machine.controller.own_job import OwnJob
from hostctl.machine.heat import heat_in_words
from hostctl.machine.machine import Machine
from hostctl.records import Heat
from hostctl.run.station import Station

LAST_HEARD = "when last asked: "


class Shown:
    """Keeps `heat` and `own_job` of one station true, and logs what an administrator looks for."""

    def __init__(self, station: Station, log: EventLog) -> None:
        self._station = station
        self._log = log

    def follow(self, machine: Machine) -> None:
        """Show whatever it says of its heat from now on."""
        machine.heaters.on_heard.add(self._heard)

    def own_job(self, job: OwnJob) -> None:
        """It runs a job that is not ours."""
        if not self._station.own_job:
            self._log.say("own-job", Level.WARNING, machine=self._station.name, why=job.what)
        self._station.own_job = f"{job.what[0].upper()}{job.what[1:]}. {job.next_step}"
        self._station.changed()

    def taken_over(self, machine: Machine) -> None:
        """It is ours now: say what was found heated."""
        self._station.own_job = ""
        found = machine.heaters.found_on
        if found:
            self._log.say("heat-found", Level.WARNING, machine=self._station.name, found=found)
            said = f"Found {found}, which no run of ours needs: switched off."
            self._station.notice = f"{said} {self._station.notice}".strip()
        self._station.changed()

    def line_lost(self) -> None:
        """Nothing is known any more but what it said last."""
        station = self._station
        station.own_job = ""
        if station.heat and not station.heat.startswith(LAST_HEARD):
            station.heat = f"{LAST_HEARD}{station.heat}"

    def _heard(self, heat: Heat) -> None:
        before, self._station.heat = self._station.heat, heat_in_words(heat)
        if self._station.heat != before:
            self._station.changed()
