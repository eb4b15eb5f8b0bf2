"""The dialect of few words: numbered `ok`, lower-case resends, `!!` errors, `//` remarks."""

from hostctl.link.reply import Greeting, Reply
from hostctl.machine.dialects.number import plain


class Terse:
    """Probes with `G30 X… Y…` and answers `// probe at x,y is z=…`."""

    name = "terse"

    def recognises(self, greeting: Greeting) -> bool:
        """It says so itself, or marks its remarks with `//`; else the file must say so."""
        return "terse" in greeting.firmware.lower() or greeting.marks_remarks is True

    def keep_motors_on(self) -> str | None:
        """Nothing to say: it holds its motors until told otherwise."""
        return None

    def rise_unhomed(self, rise_mm: float, speed_mm_s: float) -> list[str]:
        """It refuses to move unhomed, and rises by itself as it homes."""
        return []

    def probe(self, x_mm: float, y_mm: float) -> str:
        """One touch at a place of the bed."""
        return f"G30 X{plain(x_mm)} Y{plain(y_mm)}"

    def probe_height_mm(self, reply: Reply) -> float | None:
        """From `// probe at x,y is z=…`."""
        return reply.probe.z_mm if reply.probe else None
