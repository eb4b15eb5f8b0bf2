"""A small model of a controller: what PROTOCOL asks of one, and nothing more.

It checks number and checksum, executes by noting the command, and words its replies in either of
the two manners. A damaged line that nevertheless passes the check (the blind spot of an XOR
checksum) is counted in `slipped_through`: nothing a host does can prevent that.
"""

import re
from functools import reduce
from operator import xor

_FRAME = re.compile(rb"N(\d+) ?(.*)\*(\d+)$")


class ModelController:
    """Bytes in, lines out; `executed` is the truth about what was done."""

    def __init__(self, *, terse: bool = False) -> None:
        self.terse = terse
        self.last_line = 0
        self.executed: list[str] = []
        self.sent_for_real: set[bytes] = set()
        self.slipped_through = 0
        self._rest = b""

    def feed(self, data: bytes) -> list[str]:
        """The replies to the lines that `data` completes."""
        *lines, self._rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        return [reply for line in lines if line for reply in self._handle(line)]

    def reset(self) -> list[str]:
        """Forget everything but the truth; the banner."""
        self.last_line, self._rest = 0, b""
        return ["start"]

    def _handle(self, line: bytes) -> list[str]:
        frame = _FRAME.match(line)
        if frame is None:
            if b"*" in line or line.startswith(b"N"):
                return self._refuse("No Checksum with line number")
            return [f"echo:Unknown command: {line.decode('ascii', 'replace')}", "ok"]
        number, command, given = int(frame[1]), frame[2].decode("latin-1"), int(frame[3])
        if reduce(xor, line[: line.rindex(b"*")]) != given:
            return self._refuse("checksum mismatch")
        if line not in self.sent_for_real:
            self.slipped_through += 1
        if command.startswith("M110"):
            self.last_line = number
            return self._done(number, [])
        if number != self.last_line + 1:
            return self._refuse("Line Number is not Last Line Number+1")
        self.last_line = number
        self.executed.append(command)
        return self._done(number, self._reports(command))

    def _reports(self, command: str) -> list[str]:
        if command == "M114":
            return ["X:1.00 Y:2.00 Z:3.00 E:0.00 Count X:80 Y:160 Z:1200"]
        if command == "M115":
            return ["FIRMWARE_NAME:model", "Cap:EMERGENCY_PARSER:1"]
        return []

    def _done(self, number: int, reports: list[str]) -> list[str]:
        return [*reports, f"ok N{number} P15 B3" if self.terse else "ok"]

    def _refuse(self, why: str) -> list[str]:
        if self.terse:
            return [f"rs N{self.last_line + 1}"]
        return [
            f"Error:{why}, Last Line: {self.last_line}",
            f"Resend: {self.last_line + 1}",
            "ok",
        ]
