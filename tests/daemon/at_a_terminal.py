"""`hostctl run` on a real terminal, and somebody who reads its screen and presses its keys."""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path

from hostctl_simulators.people.people import People, Question

from hostctl.deeds import ClearBed, Deed, ReadIndicator, SetGap, TurnScrew, ZeroIndicator

PATIENCE_S = 60.0
LOOKS_S = 0.6  # a key that comes sooner after the question, or after another, does not count
CONTROL = re.compile(r"\x1b\[[?0-9;]*[A-Za-z]")
TOO_SOON = "Too soon after the question"
TURN = re.compile(r"screw (\d+)°,.*?(clockwise|anticlockwise)")
ASKED: dict[str, Callable[[str], Deed]] = {
    "Clear the bed": lambda shown: ClearBed(),
    "Turn the front-left screw": lambda shown: turn_in(shown),
    "Turn the screw until": lambda shown: SetGap(method="paper-slip"),
    "Turn the indicator to zero": lambda shown: ZeroIndicator(),
    "Read the indicator": lambda shown: ReadIndicator(),
}
"""How each question of a small comparison begins, and the deed that the screen then shows.

None follows itself.
"""


def turn_in(shown: str) -> TurnScrew:
    """The turn that was shown last."""
    deg, direction = TURN.findall(shown)[-1]
    return TurnScrew(screw="front-left", turn_deg=float(deg), direction=direction)


class AtTerminal:
    """One person, one terminal, one run."""

    def __init__(
        self, study: Path, machine: Path, database: Path, *, resume: int | None = None
    ) -> None:
        self._end, tty = pty.openpty()
        fcntl.ioctl(tty, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        what = ["run", str(study), "--machine", str(machine)]
        if resume is not None:
            what = ["resume", str(resume)]
        self.run = subprocess.Popen(
            [sys.executable, "-m", "hostctl", *what, "--database", str(database)],
            stdin=tty,
            stdout=tty,
            stderr=tty,
            env=os.environ | {"TERM": "xterm", "NO_COLOR": "1"},
            start_new_session=True,
        )
        os.close(tty)
        self.shown = ""

    def answer_all(self, people: People) -> int:
        """Do what the screen asks, until the run is over; gives its exit code."""
        asked, count = self.next_question(""), 0
        while asked:
            count += 1
            said = people.answer(self._heard(asked, str(count)))
            self.press("" if said.reading_mm is None else f"{said.reading_mm:.2f}")
            asked = self.next_question(asked)
        return self.run.wait(PATIENCE_S)

    def _heard(self, asked: str, prompt_id: str) -> Question:
        return Question(
            prompt_id=prompt_id,
            deed=ASKED[asked](" ".join(self.shown.split())),
            operator="volunteer-a",
        )

    def press(self, typed: str) -> None:
        self.shown = ""
        os.write(self._end, f"{typed}\r".encode())

    def words_with(self, text: str) -> str:
        """What was shown since the last key, once `text` is in it, or after a while without."""
        until = time.monotonic() + PATIENCE_S
        while text not in (words := " ".join(self.shown.split())) and time.monotonic() < until:
            self._read_on()
        return words

    def next_question(self, last: str) -> str:
        """How the next one begins, once it is on the screen; empty: the run is over."""
        until = time.monotonic() + PATIENCE_S
        while self._read_on():
            assert time.monotonic() < until, self.shown
            found = max(ASKED, key=self.shown.rfind)
            if found in self.shown and found != last:
                return found
            if self.shown.rfind(TOO_SOON) > self.shown.rfind(found):
                time.sleep(LOOKS_S)
                self.press("")
        return ""

    def _read_on(self) -> bool:
        """Take what the screen shows by now; False: the program has ended."""
        if not select.select([self._end], [], [], 1.0)[0]:
            return True
        try:
            shown = os.read(self._end, 65536)
        except OSError:  # EIO: nobody holds the other end any more
            os.close(self._end)
            return False
        self.shown += CONTROL.sub("", shown.decode(errors="ignore"))
        return True
