"""What is told and asked about a loop: that nobody is asked between, and about heat."""

from hostctl.config.parts.loop import HeatCycles
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.deeds import SayHeatAgain, SayPresent
from hostctl.run.wording import Words

ALONE = (
    "The heaters are off, and it is looked at each touch. Leave it alone only if your local rules "
    "and the maker's manual allow it, with a smoke detector in the room, nothing that burns near, "
    "and nothing on the bed; whoever comes back finds it at rest or on hold."
)
STAY = (
    "Somebody must stay with it: each 15 minutes they are asked, and without an answer within a "
    "minute the heaters go off and it holds. Should this program or its computer crash, the board "
    "goes on heating: switch the machine off at the mains. Nothing is heated again after a fault, "
    "a hold or a loss of power unless somebody says so. A smoke detector hangs in the room, and "
    "nothing that burns lies near."
)


def cautions(study: Study) -> str:
    """Where a run that asks nobody between is about to begin; empty for any other."""
    if not words_of(study.kind).asks_nobody:
        return ""
    heat = study.loop.heat if study.loop else None
    return f"{_warms(heat)} {STAY}" if heat else ALONE


def say_present() -> Words:
    """While the bed may be heated."""
    return Words(
        deed=SayPresent(),
        text="The bed is heated: confirm that somebody is with the machine.",
        detail=(
            "Look at it; keep your hands out. Without an answer within a minute the heaters go off "
            "and the run holds."
        ),
        moves_next="The touches go on.",
    )


def say_heat_again() -> Words:
    """After a hold or a stop, the heaters off."""
    return Words(
        deed=SayHeatAgain(),
        text="May the bed be heated again? Say so only if you stay with the machine.",
        detail=(
            "Its heaters are off now. Left cold, it touches on only as long as the study has it "
            "cold, then ends."
        ),
        moves_next="It homes first if it must, then goes on.",
    )


def _warms(heat: HeatCycles) -> str:
    return (
        f"THE BED IS HEATED to {heat.bed_c:g} °C and cooled again, {heat.cycles} "
        f"time{'s' if heat.cycles > 1 else ''}: don't touch it."
    )
