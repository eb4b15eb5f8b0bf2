"""Which screw a prompt wants turned, how far and which way, for the drawing.

The prompt says it in words (`run/wording.py`), and the words are what counts: where they can't be
read, nothing is drawn.
"""

import re

from hostctl.channels.page.board import Json
from hostctl.config.machine import Machine, Turn
from hostctl.records import Prompt
from hostctl.run.wording import screw_at

_TURN = re.compile(r"^Turn .*?(\d{1,3})° (clockwise|anticlockwise)\b")


def turn_asked(prompt: Prompt, machine: Machine) -> Json | None:
    """The turn in the prompt's text; None: it asks for none, or not in words known here."""
    found = _TURN.match(prompt.text)
    known = {point.name for point in machine.points}
    if found is None or prompt.place is None or prompt.place.point not in known:
        return None
    screw = screw_at(machine, prompt.place.point)
    return {
        "deg": int(found[1]),
        "clockwise": found[2] == Turn.CLOCKWISE.value,
        "screw": screw.name if screw else prompt.place.point,
    }
