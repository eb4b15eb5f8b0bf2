"""The tie of a study: how the indicator is joined to the nozzle, so that readings are gaps."""

from enum import StrEnum
from typing import Annotated, Self

from pydantic import Field, model_validator

from hostctl.config.checked import Checked, Misplaced, Name, PositiveMm, Told


class GoesBy(StrEnum):
    """What tells whoever sets the gap that it is right."""

    PAPER = "paper"
    """The drag of a paper slip."""
    FEELERS = "feelers"
    """A feeler blade."""
    CONTACT = "contact"
    """An electrical contact."""
    GAUGE_BLOCK = "gauge-block"
    """A gauge block."""
    PROBE = "probe"
    """The machine's own probe."""
    OTHER = "other"
    """Anything else."""


class TieBy(StrEnum):
    """How the indicator is joined to the nozzle."""

    TOUCH = "touch"
    """The nozzle comes down on a conductive plate until there is electrical contact."""
    FEELERS = "feelers"
    """The largest blade that goes under the nozzle, and the smallest that does not."""
    GAUGE_BLOCK = "gauge-block"
    """The bed is turned up until a gauge block under the nozzle just touches it."""


class ContactBy(StrEnum):
    """How contact is known."""

    LAMP = "lamp"
    """A person looks at a lamp, or hears a meter's beep."""
    INPUT = "input"
    """An input that the controller reports."""
    LINE = "line"
    """A GPIO line of this computer."""


PRINCIPLE: dict[TieBy, GoesBy] = {
    TieBy.TOUCH: GoesBy.CONTACT,
    TieBy.FEELERS: GoesBy.FEELERS,
    TieBy.GAUGE_BLOCK: GoesBy.GAUGE_BLOCK,
}
"""What each tie goes by: of a method that goes by the same it says nothing."""

NEEDED_FOR: dict[str, tuple[TieBy, str]] = {
    "contact": (TieBy.TOUCH, "'contact: lamp'"),
    "plate_mm": (TieBy.TOUCH, "the plate's thickness, 0 for a bare metal bed"),
    "blade_error_mm": (TieBy.FEELERS, "the blades' limit of error"),
    "block_mm": (TieBy.GAUGE_BLOCK, "the block's height"),
    "block_error_mm": (TieBy.GAUGE_BLOCK, "the limit of error of the block's grade"),
    "feel_mm": (TieBy.GAUGE_BLOCK, "how finely it is felt, plus or minus"),
}


class Tie(Checked):
    """What joins the indicator's scale to the nozzle; required with reference `gap`."""

    by: TieBy
    """How."""
    beyond_mm: Annotated[float, Field(gt=0, le=0.2)]
    """Standard uncertainty of what repeating the tie can't show: travel between its heights, force,
    residue, temperature; `hostctl budget tie-beyond-touches` works one out."""
    points: Annotated[
        list[Name] | None, Told(allowed="list of names", left_out="each point of the study")
    ] = None
    """Where it is made."""
    guides_mm: Annotated[PositiveMm | None, Told(left_out="a tie at each point")] = None
    """At a point without a tie of its own: plus or minus so much for the guides."""
    times: Annotated[int, Field(ge=2, le=50), Told(unit="observations")] = 5
    """How often at each of its points."""
    checks: Annotated[int, Field(ge=0, le=20), Told(unit="checks")] = 1
    """How often it is checked on the way, evenly; once more at the end, always."""
    check_times: Annotated[int, Field(ge=2, le=50), Told(unit="observations")] = 3
    """How often at each point in a check."""
    stale_k: Annotated[float, Field(gt=0, le=20), Told(unit="K")] = 5.0
    """A bed so much warmer or colder than at the tie makes it stale."""
    contact: Annotated[ContactBy | None, Told(left_out="by touch it is needed")] = None
    """How contact is known."""
    isolated: bool = False
    """True: an input or line is reached through an isolating coupler only; needed for these."""
    input: Annotated[str | None, Told(left_out="none")] = None
    """The controller's input, by the name it reports."""
    input_closed: Annotated[str, Field(min_length=1, max_length=40)] = "triggered"
    """What the controller reports of it while there is contact."""
    chip: str = "/dev/gpiochip0"
    """Of the GPIO line."""
    line: Annotated[
        Annotated[int, Field(ge=0)] | None, Told(unit="plain number", left_out="none")
    ] = None
    """The GPIO line."""
    closed_is_low: bool = True
    """Whether contact pulls the GPIO line low."""
    plate_mm: Annotated[
        Annotated[float, Field(ge=0, le=20)] | None, Told(left_out="by touch it is needed")
    ] = None
    """How thick the plate or foil is; 0: a bare metal bed."""
    stands_mm: Annotated[float, Field(ge=0, le=20)] = 5.0
    """How high plate, clip and leads stand above the bed; counts in the machine's highest point."""
    coarse_mm: Annotated[float, Field(gt=0, le=0.05)] = 0.05
    """One step down, above where contact is expected."""
    fine_mm: Annotated[float, Field(gt=0, le=0.01)] = 0.01
    """One step down, near contact."""
    floor_below_mm: Annotated[float, Field(gt=0, le=0.2)] = 0.1
    """The nozzle goes no further below what the blades say."""
    blade_error_mm: Annotated[PositiveMm | None, Told(left_out="by feelers it is needed")] = None
    """Limit of error of a feeler blade, plus or minus."""
    block_mm: Annotated[PositiveMm | None, Told(left_out="by gauge block it is needed")] = None
    """The height of the gauge block."""
    block_error_mm: Annotated[PositiveMm | None, Told(left_out="by gauge block it is needed")] = (
        None
    )
    """The limit of error of the block's grade (ISO 3650), plus or minus."""
    feel_mm: Annotated[PositiveMm | None, Told(left_out="by gauge block it is needed")] = None
    """How finely touching is felt, plus or minus; by feelers it is added to each end too."""

    @property
    def principle(self) -> GoesBy:
        """What it goes by."""
        return PRINCIPLE[self.by]

    @model_validator(mode="after")
    def _has_what_it_needs(self) -> Self:
        for key, (by, what) in NEEDED_FOR.items():
            if self.by is by and getattr(self, key) is None:
                raise Misplaced(f"a tie by {by} needs {what}", key)
        return self

    @model_validator(mode="after")
    def _plate_counted(self) -> Self:
        if self.by is TieBy.TOUCH and (self.plate_mm or 0.0) > self.stands_mm:
            what = f"is below the plate's own {self.plate_mm:g} mm, and the head would meet it"
            advice = "Give how high plate, clip and leads stand, all together."
            raise Misplaced(what, "stands_mm", next_step=advice)
        return self

    @model_validator(mode="after")
    def _contact_reachable(self) -> Self:
        if self.contact in (ContactBy.INPUT, ContactBy.LINE):
            if not self.isolated:
                what = "goes through an isolating coupler only, as USB joins the grounds"
                raise Misplaced(what, "isolated", next_step="Fit one, then say 'isolated: true'.")
            if getattr(self, self.contact.value) is None:
                raise Misplaced("is needed for this contact", self.contact.value)
        return self
