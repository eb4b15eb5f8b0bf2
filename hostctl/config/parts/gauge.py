"""The gauge of a study: where a reading comes from."""

from typing import Annotated

from pydantic import Field

from hostctl.config.checked import Checked, Name, PositiveMm, Told


class Gauge(Checked):
    """Where a reading comes from."""

    kind: Annotated[
        Name,
        Told(allowed="`typed`, `probe`, `serial-indicator` or a plug-in's"),
    ] = "typed"
    """What gives the reading; typed: the operator, off the indicator."""
    resolution_mm: PositiveMm = 0.01
    """One graduation; readings are treated as rounded to it."""
    typed_in_graduations: bool = False
    """True: 2 is typed for two graduations."""
    plausible_mm: PositiveMm = 0.5
    """A reading further from zero than this is asked for again."""
    block_mm: Annotated[float, Field(ge=0, le=20)] = 0.0
    """The height of the gauge block of reference `datum`, required there unless a probe gives the
    reading; it must go under the free plunger at the clear height, so be below the machine's
    `highest_point_mm` + `lift_mm` - `pre_load_mm`."""
    port: Annotated[str | None, Told(allowed="a device or a URL")] = None
    """Of an indicator on a serial line of its own; `serial-indicator` needs it."""
    baud: Annotated[int, Field(ge=300), Told(unit="bits/s")] = 9_600
    """Speed of that line."""
