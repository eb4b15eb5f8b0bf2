"""The channels of people at one machine: button, keys, and simulated people where asked for."""

import asyncio
from collections.abc import Callable
from datetime import datetime

from hostctl.channels.button.button import ButtonChannel
from hostctl.channels.button.keys import KeysChannel
from hostctl.config.host import Host
from hostctl.daemon.log.event_log import EventLog
from hostctl.run.channel import CHANNELS, Channel
from hostctl.run.desk import Desk, Refused
from hostctl.run.station import Station

SIMULATED = "simulated-people"


def channels_at(
    station: Station, port: str, host: Host, *, now: Callable[[], datetime], log: EventLog
) -> list[Channel]:
    """What host.yaml puts beside this machine. Raises PluginError or ConfigError."""

    def say(text: str) -> None:
        log.say("keys", machine=station.name, text=text)

    found: list[Channel] = []
    for button in host.buttons:
        if button.machine == station.name:
            press = idle_press(station, "button", log)
            station.armed_by_press.append("a short press of its button")
            found.append(ButtonChannel(button, now=now, on_idle_press=press))
    for keys in host.keys:
        if keys.machine == station.name:
            press = idle_press(station, "keys", log)
            station.armed_by_press.append("Enter on its keys")
            found.append(KeysChannel(keys, say=say, on_idle_press=press))
    if host.simulated_people and port.startswith("sim://"):
        found.append(SimulatedAgain(port))
    return found


def idle_press(station: Station, by: str, log: EventLog) -> Callable[[], None]:
    """What a press does while no run is going on: it arms, since whoever presses is here."""

    def press() -> None:
        result = station.arm(by)
        refused = result.reason if isinstance(result, Refused) else ""
        log.say("arm", machine=station.name, channel=by, refused=refused)

    return press


class SimulatedAgain:
    """Simulated people who come anew for each run."""

    name = SIMULATED

    def __init__(self, port: str) -> None:
        self._port = port

    async def serve(self, desk: Desk) -> None:
        """Answer run after run."""
        while True:
            await CHANNELS.find(SIMULATED)({"url": self._port}).serve(desk)
            await asyncio.sleep(0)
