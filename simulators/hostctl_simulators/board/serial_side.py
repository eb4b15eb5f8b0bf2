"""The board's end of the cable: baud pacing both ways, a small receive buffer, noise.

Bytes take ten bit times each. What arrives while the receive buffer is full is lost, as on a real
board: the sender is not told. The halt is looked for as bytes come in, ahead of the buffer.
"""

import re
from collections.abc import Callable
from functools import partial

from hostctl_simulators.agenda import Agenda
from hostctl_simulators.board.faults import Corruption, FaultCounts, FaultPlan
from hostctl_simulators.chance import stream

BUFFER_BYTES = 128
LINE_BYTES = 96
BITS_A_BYTE = 10

# What arrives is looked at in pieces of at most 32 bytes, cut at line ends too.
_PIECES = re.compile(rb"[^\n]{0,31}\n|[^\n]{1,32}")
_LINE_END = re.compile(rb"[\r\n]")
_URGENT = re.compile(rb"(?:N\d+ ?)?(M112|M410)(?!\d)")


class SerialSide:
    """What the firmware reads from and writes to."""

    def __init__(
        self, agenda: Agenda, baud: int, plan: FaultPlan, seed: int, counts: FaultCounts
    ) -> None:
        self.on_arrival: Callable[[], None] = lambda: None
        self.on_urgent: Callable[[str], None] = lambda code: None
        self.to_host: Callable[[bytes], None] | None = None  # None: nobody is plugged in
        self.deaf = False  # booting or stalled: what comes in is not looked at
        self._agenda = agenda
        self._byte_s = BITS_A_BYTE / baud
        self._counts = counts
        self._corruption_in = Corruption(
            plan.corrupt_to_printer, stream(seed, "noise to the printer")
        )
        self._corruption_out = Corruption(plan.corrupt_to_host, stream(seed, "noise to the host"))
        self._in_free_s = 0.0
        self._out_free_s = 0.0
        self._plugging = 0  # bytes under way when the cable is pulled never arrive
        self.forget()

    def forget(self) -> None:
        """Empty all buffers, as a reset does."""
        self._buffer = bytearray()
        self._damage = bytearray()  # beside each buffered byte: 1 if it was hit
        self._line = bytearray()
        self._line_damaged = False
        self._recent = bytearray()

    def cable_moved(self) -> None:
        """The cable was plugged in or pulled: bytes still under way are lost."""
        self._plugging += 1

    # ------------------------------------------------------------ in

    def receive(self, data: bytes) -> None:
        """The host sends `data`; it arrives byte after byte."""
        arrived, hit = self._corruption_in.pass_through(data)
        self._counts.bytes_corrupted_to_printer += len(hit)
        damage = bytearray(len(arrived))
        for at in hit:
            damage[at] = 1
        self._in_free_s = max(self._in_free_s, self._agenda.now_s)
        for found in _PIECES.finditer(arrived):
            piece, harm = found[0], bytes(damage[found.start() : found.end()])
            self._in_free_s += len(piece) * self._byte_s
            arrival = partial(self._arrive, piece, harm, self._plugging)
            self._agenda.after(self._in_free_s - self._agenda.now_s, arrival)

    def _arrive(self, piece: bytes, harm: bytes, plugging: int) -> None:
        if plugging != self._plugging:
            return
        room = BUFFER_BYTES - len(self._buffer)
        self._counts.bytes_overrun += max(0, len(piece) - room)
        self._buffer += piece[:room]
        self._damage += harm[:room]
        self._watch(piece)
        if not self.deaf:
            self.on_arrival()

    def _watch(self, piece: bytes) -> None:
        self._recent += piece
        *whole, rest = bytes(self._recent).split(b"\n")
        self._recent = bytearray(rest[:LINE_BYTES])
        for line in whole:
            if (found := _URGENT.match(line)) and not self.deaf:
                self.on_urgent(found[1].decode())

    def next_line(self) -> tuple[bytes, bool] | None:
        """Take one whole line out of the buffer, with whether a byte of it was hit; None: none yet.

        What exceeds the line buffer is dropped, so that such a line fails its checksum.
        """
        found = _LINE_END.search(self._buffer)
        taken = found.end() if found else len(self._buffer)
        signs, harm = self._buffer[: found.start() if found else taken], self._damage[:taken]
        del self._buffer[:taken], self._damage[:taken]
        self._line += signs[: LINE_BYTES - len(self._line)]
        self._line_damaged |= any(harm)
        if found is None:
            return None
        line, damaged = bytes(self._line), self._line_damaged
        self._line.clear()
        self._line_damaged = bool(harm[-1])  # a byte that became a line end harms both lines
        return line, damaged

    def discard(self) -> None:
        """Throw away what waits in the buffer, as a board does when it asks for a line again."""
        self._buffer.clear()
        self._damage.clear()

    # ------------------------------------------------------------ out

    def send(self, line: str) -> None:
        """Send one line to the host."""
        if self.deaf:
            return
        data, hit = self._corruption_out.pass_through(line.encode("ascii") + b"\n")
        self._counts.bytes_corrupted_to_host += len(hit)
        self._out_free_s = max(self._out_free_s, self._agenda.now_s) + len(data) * self._byte_s
        plugging = self._plugging
        self._agenda.after(
            self._out_free_s - self._agenda.now_s, lambda: self._leave(data, plugging)
        )

    def _leave(self, data: bytes, plugging: int) -> None:
        if self.to_host is not None and plugging == self._plugging:
            self.to_host(data)
