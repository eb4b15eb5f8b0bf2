"""A touch that is not to be trusted: what was observed of that tie at that point is void."""

from hostctl.errors import MachineError
from hostctl.records import Place


class TieFault(MachineError):
    """Contact was lost, came where it can't be, or bounced."""

    place: Place
    """Of the observation."""

    @classmethod
    def of(cls, fault: MachineError, place: Place) -> "TieFault":
        """What `fault` means to the tie."""
        what = f"{fault.what}; the tie at {place.point} is void and begun anew"
        void = cls(fault.where, what, fault.next_step)
        void.place = place
        return void
