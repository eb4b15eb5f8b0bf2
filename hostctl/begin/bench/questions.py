"""What is asked at the machine, first without a way down to the bed (`bed_questions`).

Each answer that lets something move is a word of its own.
"""

from collections.abc import Sequence

from hostctl.config.machine import BedScrew
from hostctl.drafts.question import Question, Way

_WORDS = {
    "plunger": "The indicator's moving rod, whose tip rests on the bed.",
    "z ": "How high the nozzle stands by the machine's own count: 0 where it homed to.",
    "floor": "As low as the nozzle goes for now: 1 mm above where the bed may be.",
    "pre-load": "How far the plunger is pressed in when a reading is taken: 0.5 mm.",
    "homing": "The machine runs each axis to its end, to know where its head is.",
    "home": "Each axis runs to its end, so that the machine knows where its head is.",
    "clear": "Nothing lies on the bed, and nothing is in the head's way.",
}


def words_in(text: str) -> dict[str, str]:
    """What the trade's words in a text mean."""
    return {word.strip(): meaning for word, meaning in _WORDS.items() if word in text}


GO = Way(word="go", text="hands are out, and it may move", value=True)


def done(key: str, text: str, why: str, what: str = "it is done") -> Question:
    """Something is to be done by hand, then said."""
    ways = (Way(word="done", text=what, value=True),)
    return choice(key, text, why, ways)


def go(key: str, text: str, why: str) -> Question:
    """Something may move."""
    return choice(key, text, why, (GO,))


def yes_or_no(key: str, text: str, why: str, yes: str = "yes", no: str = "no") -> Question:
    """One of two; each says what it means."""
    ways = (Way(word="yes", text=yes, value=True), Way(word="no", text=no, value=False))
    return choice(key, text, why, ways)


def mm(key: str, text: str, why: str, least_mm: float, most_mm: float) -> Question:
    """So many millimetres."""
    return Question(
        key=key,
        text=text,
        why=why,
        kind="number",
        unit="mm",
        least=least_mm,
        most=most_mm,
        words=words_in(f"{text} {why}"),
    )


def choice(key: str, text: str, why: str, ways: tuple[Way, ...]) -> Question:
    """One of several words, each with what it means."""
    words = words_in(f"{text} {why}")
    return Question(key=key, text=text, why=why, kind="choice", ways=ways, words=words)


# ------------------------------------------------------------ before the indicator is on


INDICATOR_OFF = done(
    "bare.indicator_off",
    "Is the indicator off the head, with its mount and its cable?",
    "The first homing shows how the machine homes by itself. Nothing may hang on the head that "
    "it could drive into bed or frame.",
    "it is off",
)


def bed_down(screws: Sequence[BedScrew]) -> Question:
    """Each screw one turn, so that the bed goes down."""
    names = ", ".join(screw.name for screw in screws)
    return done(
        "bare.bed_down",
        "Turn each bed screw one full turn, whichever way lowers the bed there. Are all down?",
        f"The nozzle then meets nothing, however the bed was left. Screws: {names}. Count the "
        "turn: it is taken back later. The maker's manual comes before what is said here.",
        "each is one turn down",
    )


FIRST_HOMING = go(
    "bare.home",
    "May it home?",
    "Look along the way of the head: nothing lies on the bed, no cable can catch. Keep a hand at "
    "the mains switch, which is the emergency stop.",
)

HOMED_WELL = yes_or_no(
    "bare.homed_well",
    "Did every axis find its end, without grinding or touching anything?",
    "What goes wrong here goes wrong in every run.",
    "all went well",
    "something touched, ground or stopped too early",
)


STANDS_AT_ITS_ENDS = choice(
    "home.stands",
    "Does the head stand where x and y found their ends, or did it come back from there?",
    "At those ends there is least room for the indicator. Many machines home z in the middle of "
    "the bed, after x and y.",
    (
        Way(word="there", text="it stands where both found their ends", value=True),
        Way(word="came", text="it came away from there, as to the middle", value=False),
    ),
)


def end_of(axis: str) -> Question:
    """At which end of its travel an axis homes."""
    low, high = ("left", "right") if axis == "x" else ("front", "rear")
    return choice(
        f"home.{axis}_end",
        f"At which end did the head find its end in {axis}: {low} or {high}?",
        "It is brought there once more, slowly, for the room to be measured.",
        (
            Way(word=low, text=f"at the {low}", value="from_mm"),
            Way(word=high, text=f"at the {high}", value="to_mm"),
        ),
    )


TO_ITS_ENDS = go(
    "home.to_ends",
    "May the head go there?",
    "It goes at the height where it stands, without the indicator still.",
)


SAME_ENDS = yes_or_no(
    "home.same_ends",
    "Does the head stand where it found its ends as it homed, on the same sides?",
    "Where it homes with the indicator on there must be room for it.",
    "it stands where it was then",
    "it found them elsewhere",
)

_BESIDE = {
    "left": "to the left of",
    "right": "to the right of",
    "front": "in front of",
    "back": "behind",
}


def room(side: str, sticks_mm: float, said_mm: float | None = None) -> Question:
    """How much there is beside the head at its ends. said_mm: what was said, and is too little."""
    where = f"{_BESIDE[side]} the bare head, where it stands now"
    if said_mm is None:
        text = f"How much room is there {where}?"
    else:
        text = f"Only {said_mm:g} mm {where}? Measure once more: how much is it?"
    return mm(
        f"room.{side}_mm",
        text,
        f"It stands at its ends. There the indicator will stick out {sticks_mm:g} mm on "
        "that side; a ruler will do. Measure to whatever comes first: frame, belt, cable.",
        0.0,
        2000.0,
    )


BELOW = choice(
    "room.below",
    "What will be under the plunger here, when the nozzle is down at z 0?",
    "Here the machine homes: the nozzle comes down to the bed, and the plunger hangs lower.",
    (
        Way(word="bed", text="the bed: it presses the plunger in", value="bed"),
        Way(word="nothing", text="nothing: it hangs free beside the bed", value="nothing"),
        Way(word="other", text="something else: a clip, a frame, a screw head", value="other"),
    ),
)

RAISE = go(
    "mount.raise",
    "May the head rise, so that there is room to mount the indicator?",
    "It rises straight up: so you see at once whether the indicator fits where it homes.",
)

MOUNT = done(
    "mount.on",
    "Fix the indicator to the head, plunger down. Is it on, tight, and its tip below the nozzle?",
    "It must not be able to slip or turn; its cable must have slack. The motors hold the head: "
    "don't push it along. The nozzle must be cold.",
    "it is on",
)


def fits(sides: Sequence[str]) -> Question:
    """Seen with it mounted, at the homing place."""
    named = ", ".join(sides) or "any side"
    return yes_or_no(
        "mount.fits",
        "Is there room all around indicator and mount here, 3 mm or more, down to the bed too?",
        f"It stands over its homing place ({named} was measured). Look along the way down: clip, "
        "frame, belt, cable.",
        "there is room everywhere",
        "something is nearer than 3 mm, or in its way down",
    )


def hangs(travel_mm: float) -> Question:
    """By ruler."""
    return mm(
        "mount.hangs_mm",
        "How far below the nozzle does the plunger's tip hang?",
        "By ruler, to the nearest millimetre: it must reach the bed before the nozzle does, and "
        "not be driven to its end when the nozzle is down.",
        2.0,
        travel_mm - 1.0,
    )


TIP_ABOVE_BED = mm(
    "mount.tip_above_bed_mm",
    "How high above the bed is the plunger's tip now?",
    "By ruler, to the nearest millimetre; where no bed is below it, measure to the height of the "
    "bed. That and how far the tip hangs must make up the height at which the nozzle stands.",
    0.0,
    300.0,
)

MOUNTED_HOMING = go(
    "mounted.home",
    "May it home with the indicator on?",
    "Every run homes like this. A finger on the mains switch; watch the indicator all the way.",
)

MOUNTED_HOMED_WELL = yes_or_no(
    "mounted.homed_well",
    "Did indicator, mount and cable keep clear of everything? The plunger may meet the bed.",
    "Whatever touches now would touch in every run.",
    "they kept clear",
    "something touched, caught or slipped",
)

STILL_ON = yes_or_no(
    "ready.still_on",
    "Is the indicator on the head, as it was measured, and not knocked since?",
    "The machine's position is not known, so it homes anew, with the indicator on.",
    "it is on, as it was",
    "it is off, or was moved",
)

HOME_AGAIN = go(
    "ready.home",
    "May it home?",
    "Nothing lies on the bed; a hand at the mains switch.",
)

HOME_AFTER_TURNS = go(
    "height.home",
    "The screws were turned: may it home anew?",
    "Some machines find z by the bed, and count from where it is now. Hand at the mains switch.",
)
