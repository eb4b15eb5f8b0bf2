"""What the operator is told while a run is held, and why it is."""

from hostctl.deeds import LiftHold, LookAtThermalFault
from hostctl.news import HoldBegan
from hostctl.run.wording import Words

ZERO_AGAIN = "No reading is taken again, only this block's zero: homing shifts it."
NOT_TOLD = "STOP did not reach the machine: switch it off at the mains."


def stopped(by: str, *, went_out: bool) -> str:
    """Why the run stands still after somebody told the machine to halt."""
    what = (
        ": the machine was told to halt at once, heaters off."
        if went_out
        else ", but the line was down, so the machine was not told. Switch it off at the mains."
    )
    return f"STOP was given on {by}{what} See to whatever it was given for."


def go_on_after_hold(hold: HoldBegan, *, must_home: bool, zeros: bool = True) -> Words:
    """While the run is held. zeros: whether blocks of its study begin with one."""
    state = "STOPPED." if hold.stopped else "The run is on hold."
    state = NOT_TOLD if hold.not_told else state
    onward = "it connects and homes" if must_home else "the run goes on"
    return Words(
        deed=LiftHold(),
        text=f"{state} When it is safe to go on, confirm (DONE): {onward}. Or end the run here.",
        detail=(
            f"Why: {hold.reason} See that nothing is in the way."
            f" {taken_again(hold.taken_anew, zeros=zeros)}".rstrip()
        ),
        moves_next=(
            "The head rises, homes, and the study goes on."
            if must_home
            else "The head lifts, and the trial in hand is begun again."
        ),
    )


def look_at_thermal_fault(fault: str, *, heated: bool) -> Words:
    """Asked alone, before anything that could clear the fault."""
    then = (
        "It is then connected again, but this study heats the bed, so the run ends here."
        if heated
        else "It is then connected again; you are asked once more before anything moves."
    )
    return Words(
        deed=LookAtThermalFault(),
        text="THERMAL FAULT, or taken for one. Confirm (DONE) only when somebody at the machine "
        "has looked at it and what failed is mended.",
        detail=f"Why: {fault} Until then nothing is sent to it and nothing resets it. {then}",
    )


def thermal_fault_looked_at(what: str) -> str:
    """Why the run is still on hold after it."""
    return f"It was on hold for {what}. Somebody has looked at it."


def taken_again(readings: int, *, zeros: bool) -> str:
    """How many readings going on costs, and why; empty: none. zeros: as `go_on_after_hold`."""
    if not readings:
        return ""
    many = "1 reading" if readings == 1 else f"{readings} readings"
    if zeros:
        why = "and its zero, are taken again: homing shifts the zero"
        return f"{many} of this block, {why}. On record they stay, void."
    are = "is" if readings == 1 else "are"
    why = "homing shifts what readings of one block are held against"
    return f"{many} of this block {are} taken again: {why}. On record they stay, void."
