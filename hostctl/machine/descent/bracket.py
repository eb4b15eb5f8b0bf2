"""The bracket: where hands say that contact lies, and how far down the nozzle may go for it. Pure.

It comes from feeler blades under the nozzle where it stands, never from a file.
"""

from dataclasses import dataclass

from hostctl.errors import MachineError

MOST_BELOW_MM = 0.2
"""The floor lies no further below what the blades say."""

WIDEST_MM = 0.2
"""Two blades further apart say too little."""

AGAIN = "Take the blades anew."


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracket:
    """What blades said. `in_mm`: the largest that goes under, 0 where none does; `out_mm`: the
    smallest that does not. All heights are the nozzle's. Raises MachineError where they can't be.
    """

    where: str
    z_try_mm: float
    """Where the nozzle stood while they were tried."""
    in_mm: float
    out_mm: float

    def __post_init__(self) -> None:
        if not 0 <= self.in_mm < self.out_mm:
            raise MachineError(
                self.where,
                f"the blade that goes under ({self.in_mm:g} mm) must be thinner than the one that "
                f"does not ({self.out_mm:g} mm)",
                AGAIN,
            )
        if not self.out_mm - self.in_mm <= WIDEST_MM + 1e-9:
            raise MachineError(
                self.where,
                f"the blades {self.in_mm:g} mm and {self.out_mm:g} mm are more than "
                f"{WIDEST_MM:g} mm apart, too far to say where contact is",
                "Take finer blades, or pile thin ones.",
            )

    @property
    def upper_z_mm(self) -> float:
        """Contact lies no higher."""
        return round(self.z_try_mm - self.in_mm, 6)

    @property
    def lower_z_mm(self) -> float:
        """Contact lies no lower."""
        return round(self.z_try_mm - self.out_mm, 6)

    def floor_z_mm(self, below_mm: float) -> float:
        """The lowest that the nozzle may go: `below_mm` below the lower end, at most 0.2."""
        if not 0 < below_mm <= MOST_BELOW_MM:
            raise MachineError(
                self.where,
                f"a floor {below_mm:g} mm below the blades' bracket is not within 0 and "
                f"{MOST_BELOW_MM:g} mm",
                "Mend 'floor_below_mm'.",
            )
        return round(self.lower_z_mm - below_mm, 6)

    def check_contact_at(self, closed_z_mm: float) -> None:
        """Raises MachineError where contact came above what the blades say: it is a false one."""
        if not closed_z_mm <= self.upper_z_mm + 1e-6:
            raise MachineError(
                self.where,
                f"contact came at z {closed_z_mm:.2f} mm, above {self.upper_z_mm:.2f} mm, where "
                f"a blade of {self.in_mm:g} mm went under",
                "Look for leads that touch and for dirt under the nozzle; it homes again first.",
            )
