"""What the operator is told at a tie: calm plain sentences, one deed each."""

from hostctl.config.parts.tie import ContactBy, Tie, TieBy
from hostctl.config.study import Study
from hostctl.deeds import (
    ClearAway,
    JoinByHand,
    JoinLamp,
    LayPlate,
    MeterLeads,
    PressPlunger,
    SetOnBlock,
    TryBlade,
    WatchLamp,
    WatchLeads,
    WireContact,
)
from hostctl.run.wording import CLEAR_HANDS, Words

MOST_V, LEAST_KOHM = 0.5, 100
"""Between nozzle and plate, before anything is joined (our choice, for low voltages)."""
LAMP_V, LAMP_MA = 3, 5
"""What the lamp's own battery may give at most (our choice)."""

MAKER_FIRST = (
    "The maker's manual and your local codes come before what is said here; if they forbid it, end."
)
TURN_NO_BEZEL = "From here to the last reading nobody turns the bezel or touches the indicator."


IN_IT = {
    TieBy.TOUCH: "the plate, its lead, the lamp's leads and all blades",
    TieBy.FEELERS: "all blades",
    TieBy.GAUGE_BLOCK: "the gauge block",
}
"""What is laid in the machine for a tie, and taken out again."""


def left_in(tie: Tie) -> str:
    """Behind the reason of a run that ended in the midst of a tie."""
    return (
        f"; {IN_IT[tie.by]} may still be in the machine, and the head stands over that: move "
        "nothing sideways and home nothing until they are out; 'resume' asks for that first"
    )


def comes(study: Study, *, resumed: bool) -> str:
    """Said before the first motion of a run with a tie."""
    tie = study.tie
    if tie is None:
        return ""
    how = {
        TieBy.TOUCH: "the nozzle is brought down on a plate until it touches",
        TieBy.FEELERS: "feeler blades are tried under the nozzle",
        TieBy.GAUGE_BLOCK: "the bed is set with a gauge block under the nozzle",
    }[tie.by]
    left = f"Next you are asked to take out {IN_IT[tie.by]}, if left in. " if resumed else ""
    wired = (
        " Its lead was clipped on while the printer was unplugged, and is tied to the head's "
        "cables, its other end free; else end now."
        if tie.by is TieBy.TOUCH
        else ""
    )
    return (
        f"{left}The indicator is tied to the nozzle first: {how}, then the plunger reads the same "
        f"place.{wired}"
    )


def press_plunger(point: str) -> Words:
    """Which way the number goes is measured, not taken for granted."""
    return Words(
        deed=PressPlunger(),
        text="Press the plunger's tip a little further in with a finger: does the number grow or "
        "fall?",
        detail=f"It rests on the bed at {point}; further in is up, away from the bed. If need be, "
        f"turn the bezel to about 0 first. {TURN_NO_BEZEL}",
        moves_next="The head lifts.",
    )


def wire_contact(tie: Tie) -> Words:
    """Before the plate is laid."""
    lamp = (
        f"The lamp or meter has a battery of its own, at most {LAMP_V} V and {LAMP_MA} mA, and is "
        "not joined yet."
        if tie.contact is ContactBy.LAMP
        else "The input is reached through an isolating coupler only, since USB joins the grounds."
    )
    return Words(
        deed=WireContact(),
        text="See that the nozzle's lead is on, clipped while the printer was unplugged.",
        detail=(
            "If it was not: end the run, unplug the printer, wire it, plug it in, and resume. The "
            "clip sits on the nozzle's side, above the tip: nothing reaches lower than the tip, "
            "which is cold and clean. The lead is tied to the head's own cables, with slack; its "
            f"other end hangs free and joins nothing. {lamp} Never on a bed heated by mains "
            f"voltage. {MAKER_FIRST}"
        ),
    )


def lay_plate(tie: Tie, point: str) -> Words:
    """Plate or foil, and its lead."""
    plate_mm = tie.plate_mm or 0.0
    what = f"Lay the {plate_mm:g} mm plate on the bed" if plate_mm else "Clean the bare metal bed"
    return Words(
        deed=LayPlate(thick_mm=plate_mm),
        text=f"{what} at {point}, and clip the plate's lead to it.",
        detail=(
            "It lies flat and clean, under nozzle and plunger alike. Nothing joins the leads yet; "
            "a lamp that hangs on them from before comes off. "
            f"Plate, clip and leads stand no higher than {tie.stands_mm:g} mm. {CLEAR_HANDS}"
        ),
    )


def meter_leads() -> Words:
    """Before nozzle and plate are joined by anything."""
    return Words(
        deed=MeterLeads(),
        text=f"Measure between nozzle and plate: under {MOST_V:g} V, and over {LEAST_KOHM} kΩ?",
        detail=(
            "Voltage first, direct and alternating, then resistance, with nothing else joined. "
            "Beyond either limit something leads to the nozzle or the bed: this tie is refused and "
            "the run ends. Nothing moves yet."
        ),
    )


def join_lamp(*, by_eye: bool) -> Words:
    """After the meter: whatever tells of contact hangs on the leads before their slack is shown."""
    row, ask, own = (
        (
            "the nozzle's lead, the lamp with its own battery, the plate's lead",
            "Is the lamp dark or lit?",
            f"A meter that beeps does for a lamp. At most {LAMP_V} V and {LAMP_MA} mA, and nothing "
            "of it joins the printer's electronics.",
        )
        if by_eye
        else (
            "the nozzle's lead, the coupler's input, the plate's lead",
            "Then take your hands out, and confirm.",
            "Nothing else joins the printer's electronics.",
        )
    )
    return Words(
        deed=JoinLamp(by_eye=by_eye),
        text=f"Join in a row: {row}. {ask}",
        detail=f"{own} The free lead is a third one: it joins nothing, until later you bridge "
        "nozzle and plate with it by hand. Keep it well away now: there must be no contact.",
        moves_next="The head goes slowly to where the plunger reads and back: watch the leads.",
    )


def watch_leads() -> Words:
    """After the slow pass."""
    return Words(
        deed=WatchLeads(),
        text="Did the leads hang slack all the way?",
        detail="The head went slowly to where the plunger reads and back. Leads that are pulled "
        "would move plate or nozzle, or come off. Nothing moves yet.",
    )


def try_blade(which: str, z_mm: float, again: str = "", then: str = "") -> Words:
    """Feeler blades under the nozzle where it stands. then: what moves after the answer."""
    largest = which == "largest-in"
    what = (
        "the thickest blade that goes under" if largest else "the thinnest that does not go under"
    )
    none = (
        "If not even the thinnest does: hold, and turn the bed down."
        if largest
        else "If all of them go under, say the thickest again: you are then asked whether the head "
        "may lower."
    )
    return Words(
        deed=TryBlade(which="largest-in" if largest else "smallest-out"),
        text=f"Try blades under the nozzle: how thick is {what}, in mm?",
        detail=(
            f"{f'{again} ' if again else ''}The nozzle stands at z {z_mm:.2f} mm. Push no blade in "
            f"by force. {none} Take the blades out before you answer."
        ),
        moves_next=then,
    )


def lower_further(in_mm: float, z_mm: float, lower_mm: float) -> Words:
    """All blades went under; a slip of the pen must not drive the nozzle into the bed."""
    return Words(
        deed=TryBlade(which="largest-in"),
        text=f"May the head lower {z_mm - lower_mm:.2f} mm, to z {lower_mm:.2f} mm? Type {in_mm:g} "
        "once more to let it.",
        detail=(
            f"See once more that the {in_mm:g} mm blade goes under. For any other thickness "
            f"nothing moves, and blades are asked for anew. Take them out first."
        ),
        moves_next=f"The head lowers to z {lower_mm:.2f} mm.",
    )


def join_by_hand(*, joined: bool, by_eye: bool, again: str = "", moves_next: str = "") -> Words:
    """Proof that contact is told, and told no more when it is over."""
    deed = (
        "Join nozzle and plate with the free lead"
        if joined
        else "Take the free lead well away, and your hands out"
    )
    held = ", and confirm while you do." if joined else ", and confirm."
    ask = ": is the lamp dark or lit?" if by_eye else held
    return Words(
        deed=JoinByHand(joined=joined, by_eye=by_eye),
        text=f"{deed}{ask}",
        detail=f"{f'{again} ' if again else ''}Contact is proven before and after each touch: "
        "open, joined, open again. The free lead is the third one, which joins nothing else. "
        "Touch no metal of the machine beside it.",
        moves_next=moves_next,
    )


def watch_lamp(z_mm: float) -> Words:
    """Once a step."""
    return Words(
        deed=WatchLamp(),
        text=f"Is the lamp dark or lit? The nozzle stands at z {z_mm:.2f} mm.",
        detail="Eyes alone: keep your hands out. Hold if you are not sure.",
        moves_next="Dark: one short step down, at once. Lit: the head rises, at once.",
    )


def set_on_block(block_mm: float, point: str) -> Words:
    """The bed is set with the block under the nozzle."""
    return Words(
        deed=SetOnBlock(thick_mm=block_mm),
        text=f"Turn the bed down at {point}, lay the {block_mm:g} mm gauge block under the nozzle, "
        "and turn the bed up until the nozzle just touches it.",
        detail="Block, nozzle and bed must be clean. Never press: feel it slide.",
        moves_next="The head lifts off the block.",
    )


def clear_away(tie: Tie, why: str) -> Words:
    """Before anything goes sideways or homes that could meet it."""
    nozzle = (
        "The nozzle's own lead stays only where it is tied to the head's cables, its end free; to "
        "take it off, end the run and unplug the printer first. "
        if tie.by is TieBy.TOUCH
        else ""
    )
    return Words(
        deed=ClearAway(),
        text=f"Take {IN_IT[tie.by]} out of the machine.",
        detail=f"{nozzle}Where the plunger rests on something, push it up first.",
        moves_next=why,
    )
