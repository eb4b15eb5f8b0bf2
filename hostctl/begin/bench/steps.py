"""The steps at the machine, in order: what each is called, what shows that it is done."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass

from hostctl.begin.bench.bench import Bench
from hostctl.begin.bench.directions import find_directions
from hostctl.begin.bench.dry_cycle import make_dry_cycle
from hostctl.begin.bench.fitting import fit_indicator, home_with_indicator
from hostctl.begin.bench.heights import find_contact, measure_height
from hostctl.begin.bench.mark import find_offset
from hostctl.begin.facts import Facts
from hostctl.begin.notes import Notes

OF_THE_INDICATOR = (
    "hangs_mm",
    "mount.",
    "seen.mounted",
    "seen.dry",
    "found.bed_below",
    "found.rises",
    "found.low",
    "found.offset",
    "found.reading",
    "found.pre_load",
    "found.pressed",
)
"""What the indicator told, or how it is mounted: void once it was moved; screws stay as turned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step at the machine."""

    title: str
    told: str
    """What comes, for whoever has never done it."""
    done_by: str
    """The fact that shows that it is done."""
    knows: tuple[str, ...]
    """How the keys begin of all that it makes known."""
    carry_out: Callable[[Bench, Notes], Awaitable[None]]

    def is_done(self, facts: Facts) -> bool:
        """Whether it needs no doing."""
        return self.done_by in facts


STEPS: Sequence[Step] = (
    Step(
        title="The first homing, and the indicator mounted",
        told=(
            "The machine homes without the indicator, with the bed turned down. Then you measure "
            "the room there, and fix the indicator to the head. You need a ruler."
        ),
        done_by="hangs_mm",
        knows=("seen.bare", "home.", "room.", "mount.", "hangs_mm"),
        carry_out=fit_indicator,
    ),
    Step(
        title="Homing with the indicator on",
        told="As every run does it; watched closely this once.",
        done_by="seen.mounted_homing",
        knows=("seen.mounted",),
        carry_out=home_with_indicator,
    ),
    Step(
        title="Down to the bed, a little at a time",
        told=(
            "The plunger comes down onto the bed, half a millimetre a step, later a tenth. You say "
            "at each step whether the number has moved."
        ),
        done_by="found.low_reading_z_mm",
        knows=("found.bed_below", "found.rises", "found.low"),
        carry_out=find_contact,
    ),
    Step(
        title="How far the plunger is from the nozzle",
        told="A mark on the bed; both are brought over it. You need a strip of tape and a pen.",
        done_by="found.offset_y_mm",
        knows=("found.offset",),
        carry_out=find_offset,
    ),
    Step(
        title="Which way each screw raises the bed",
        told="A quarter turn at each screw, and back.",
        done_by="seen.screws_tried",
        knows=("found.raises.", "seen.screws"),
        carry_out=find_directions,
    ),
    Step(
        title="The reading height",
        told="The bed comes up to where you use it, and the height is measured there, and proven.",
        done_by="found.reading_z_mm",
        knows=("found.reading", "found.pre_load"),
        carry_out=measure_height,
    ),
    Step(
        title="A slow dry cycle",
        told="The motions of every run, once, over all points.",
        done_by="seen.dry_cycle",
        knows=("found.pressed.", "seen.dry"),
        carry_out=make_dry_cycle,
    ),
)
