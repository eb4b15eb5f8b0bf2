"""Announcing a machine to home-automation hubs, by the convention that many of them read.

One retained message for each thing a hub shows. The hub's own start is told on `hub_status`; all is
announced again then. A hub's buttons carry no prompt id, so the plain rule holds for them.
"""

import json
from dataclasses import dataclass

from hostctl.channels.messages.topics import OFFLINE, ONLINE, Topics

LONGEST_STATE = 255  # characters a hub shows


@dataclass(frozen=True, slots=True)
class Shown:
    """One thing a hub shows: the topics are names of `Topics`' properties."""

    component: str
    key: str
    name: str
    reads: str | None = None
    template: str | None = None
    writes: str | None = None
    more: tuple[tuple[str, object], ...] = ()


def _press(key: str, name: str, topic: str, icon: str) -> Shown:
    return Shown("button", key, name, writes=topic, more=(("payload_press", key), ("icon", icon)))


_CUT = f"[:{LONGEST_STATE}]"
_STANDING = "{{ 'not told' if value_json.not_told else value_json.standing }}"
_MM = ("unit_of_measurement", "mm")
TABLE = (
    Shown("sensor", "prompt", "What to do now", "prompt", f"{{{{ value_json.text{_CUT} }}}}"),
    Shown("sensor", "standing", "Standing", "state", _STANDING),
    Shown("sensor", "what", "What it does", "state", f"{{{{ value_json.what{_CUT} }}}}"),
    Shown(
        "sensor",
        "reading",
        "Last reading",
        "reading",
        "{{ value_json.value_mm }}",
        more=(_MM, ("state_class", "measurement")),
    ),
    _press("done", "Done", "answer", "mdi:check"),
    _press("redo", "Redo this trial", "answer", "mdi:undo"),
    _press("skip", "Skip this trial", "answer", "mdi:skip-next"),
    _press("hold", "Hold", "hold", "mdi:pause"),
    _press("stop", "Stop", "stop", "mdi:stop"),
    Shown(
        "number",
        "read_off",
        "What the indicator shows",
        "reading",
        "{{ value_json.value_mm }}",
        "answer",
        (
            ("command_template", '{"reading_mm": {{ value }}}'),
            ("min", -10),
            ("max", 10),
            ("step", 0.001),
            ("mode", "box"),
            _MM,
        ),
    ),
)


def hub_status(prefix: str) -> str:
    """Where a hub tells that it has started."""
    return f"{prefix}/status"


def announcements(topics: Topics, prefix: str) -> dict[str, str]:
    """Each discovery topic, which begins with `prefix`, with its payload."""
    return {
        f"{prefix}/{shown.component}/hostctl_{topics.machine}/{shown.key}/config": json.dumps(
            _config(topics, shown)
        )
        for shown in TABLE
    }


def _config(topics: Topics, shown: Shown) -> dict[str, object]:
    config: dict[str, object] = {
        "name": shown.name,
        "unique_id": f"hostctl_{topics.machine}_{shown.key}",
        "device": {"identifiers": [f"hostctl_{topics.machine}"], "name": topics.machine},
        "origin": {"name": "hostctl"},
        "availability_topic": topics.online,
        "payload_available": ONLINE,
        "payload_not_available": OFFLINE,
        "qos": 1,
    }
    if shown.reads is not None:
        config["state_topic"] = f"{topics.tree}/{shown.reads}"
        config["value_template"] = shown.template
        config["json_attributes_topic"] = f"{topics.tree}/{shown.reads}"
    if shown.writes is not None:
        config["command_topic"] = f"{topics.tree}/{shown.writes}"
        config["retain"] = False
    return config | dict(shown.more)
