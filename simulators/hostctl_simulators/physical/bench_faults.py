"""What is to go wrong at the bench on purpose: the contact, and what joins indicator and nozzle."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchFaults:
    """Contact: shares of the nozzle's descents (0.1: one in ten; 1: all, from their beginning).

    A fault below 1 strikes somewhere on the way down and lasts until the next descent.
    """

    contact_lost: float = 0.0  # never closes, joined by hand or not
    contact_stuck: float = 0.0  # closed, whatever touches
    contact_bounces: float = 0.0  # where it should be closed, every other look finds it open
    contact_late: float = 0.0  # closes only when pressed in by `contact_late_mm`
    contact_late_mm: float = 0.03
    residue_mm: float = 0.0  # a crumb so thick under the nozzle: it touches, and conducts, early
    residue_insulates: int = 0  # 1: it keeps the metal away instead, and contact comes late
    leads_beyond: int = 0  # 1: the meter shows more voltage or less resistance than it may
    leads_pulled: int = 0  # 1: the leads are caught on a pass

    # The probe, counted from 1, until a hand frees it; 0: never.
    probe_stuck_at_touch: int = 0  # from this touch on it is triggered though it touches nothing
    probe_blind_at_touch: int = 0  # from this touch on it does not trigger
    probe_stays_in_at_order: int = 0  # from this order on it does not come out

    # Turns that people are asked for, counted from 1; 0: never.
    wrong_way_at_turn: int = 0  # this one is made the other way
    wrong_screw_at_turn: int = 0  # this one at the next screw
    no_turn_at_turn: int = 0  # this one not at all
    turned_too_far: float = 0.0  # all of them by this share: 0.1 is 10 %
    turned_unevenly_deg: float = 0.0  # standard deviation of each, besides

    springs_n_per_mm: float = 0.0  # each under one screw; 0: nothing gives
    indicator_falls: int = 0  # 1: its number falls as the plunger is pressed in

    spoiled_at_lowering: int = 0  # the tie is spoiled as the plunger comes down so many times
    bezel_turned_mm: float = 0.0  # by so much more than before it shows then
    knocked_mm: float = 0.0  # so much lower the plunger then sits in its mount
    warmed_k: float = 0.0  # so much warmer it then is in the room
    nozzle_longer_mm: float = 0.0  # so much longer the new nozzle is

    def __post_init__(self) -> None:
        shares = self.contact_lost, self.contact_stuck, self.contact_bounces, self.contact_late
        if not all(0 <= share <= 1 for share in shares):
            raise ValueError("a share of descents lies between 0 and 1")
        if self.springs_n_per_mm < 0:
            raise ValueError("'springs_n_per_mm' must be at least 0")
