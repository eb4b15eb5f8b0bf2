"""The dialect most controllers speak: plain `ok`, `Resend:`, `Error:`, `echo:`."""

from hostctl.link.reply import Greeting, Reply
from hostctl.machine.dialects.number import plain


class Classic:
    """Probes with `G30 X… Y…`; lets idle motors go after a while unless told not to."""

    name = "classic"

    def recognises(self, greeting: Greeting) -> bool:
        """It says so itself, or begins its remarks with `echo:`.

        Any other that nobody recognises is taken for classic as well.
        """
        return "classic" in greeting.firmware.lower() or greeting.marks_remarks is False

    def keep_motors_on(self) -> str | None:
        """`M84 S0`: an idle time of 0 means never. With an S it lets nothing go by itself."""
        return "M84 S0"

    def rise_unhomed(self, rise_mm: float, speed_mm_s: float) -> list[str]:
        """Call the present height 0, go up to `rise_mm`, wait until there."""
        return ["G92 Z0", f"G1 Z{plain(rise_mm)} F{plain(speed_mm_s * 60)}", "M400"]

    def probe(self, x_mm: float, y_mm: float) -> str:
        """One touch at a place of the bed."""
        return f"G30 X{plain(x_mm)} Y{plain(y_mm)}"

    def probe_height_mm(self, reply: Reply) -> float | None:
        """From `Bed X: … Y: … Z: …`."""
        return reply.probe.z_mm if reply.probe else None
