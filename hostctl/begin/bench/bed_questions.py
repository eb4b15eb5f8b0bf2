"""What is asked on the way down to the bed, and there."""

from collections.abc import Sequence

from hostctl.begin.bench.questions import choice, done, go, mm, yes_or_no
from hostctl.config.machine import BedScrew, SeenFrom
from hostctl.drafts.question import Question, Way

# ------------------------------------------------------------ the way down


def go_over(what: str, why: str) -> Question:
    """The head may go there."""
    return go("over.go", f"May the head go over {what}?", why)


def goes_under(z_mm: float) -> Question:
    """How near the bed is at the most."""
    return mm(
        "contact.goes_under_mm",
        "How thick is the thickest thing that goes under the nozzle without touching it?",
        "Slide flat things of known thickness under the nozzle: a stack of cards, blocks, a ruler "
        f"on edge. By its count the nozzle stands at z {z_mm:g} mm, so begin near that. So far "
        "the nozzle can't meet the bed: it gives the floor.",
        0.0,
        100.0,
    )


DOES_NOT = mm(
    "contact.does_not_mm",
    "How thick is the thinnest thing that does not go under it?",
    "Between the two lies the gap; 5 mm apart is near enough.",
    0.0,
    120.0,
)


def shown_free(again: str = "") -> Question:
    """The number with the plunger free."""
    return mm(
        "contact.free_mm",
        again or "What does the indicator show, its plunger hanging free?",
        "Bring it to zero first if you like. Type what it shows, with its sign: all that follows "
        "is counted from it.",
        -100.0,
        100.0,
    )


def has_moved(step_mm: float, z_mm: float) -> Question:
    """Asked at each step of the way down."""
    return choice(
        "contact.moved",
        f"At z {z_mm:.2f} mm: has the number moved?",
        "",
        (
            Way(word="down", text=f"not yet: {step_mm:.2g} mm further down, at once", value="no"),
            Way(word="moved", text="it has moved, by 0.02 mm or more", value="yes"),
            Way(word="up", text="go up, and begin this anew", value="up"),
        ),
    )


def shows_now(key: str = "contact.shows_mm", again: str = "") -> Question:
    """The number, read by eye."""
    return mm(key, again or "What does it show now?", "", -100.0, 100.0)


UP_AND_DOWN = go(
    "contact.up",
    "May the head rise 1.5 mm, to come down again in small steps?",
    "The bed is found to half a millimetre; now to a tenth.",
)

LOWER_NEAR = go(
    "contact.lower",
    "May the head go down to 1.5 mm above where the plunger is to meet the bed?",
    "From there on each step is asked for.",
)

PRESS_IN = go("turn.press", "May it go a little further down?", "The plunger must stay on the bed.")

FURTHER = go(
    "contact.further",
    "May it go on, 0.1 mm a step, until the plunger is pressed in by 0.5 mm?",
    "After each step you type what the indicator shows; that lets the next one go.",
)

ONCE_MORE = go(
    "contact.once_more",
    "May it rise, and come down to that height once more?",
    "What comes again is believed.",
)


# ------------------------------------------------------------ the mark, the screws, the cycle


MARK = done(
    "mark.made",
    "Stick a strip of tape on the bed under the nozzle, and mark on it the spot right under the "
    "nozzle's tip. Is it marked?",
    "Plunger and nozzle are brought over the same mark: so it comes out how far apart they are. "
    "Look from two sides.",
    "it is marked",
)

MARK_RIGHT = mm(
    "mark.right_mm",
    "How far to the right of the plunger's tip is the mark?",
    "By ruler, to half a millimetre; left of it: with a minus; over it: 0.",
    -20.0,
    20.0,
)

MARK_BACK = mm(
    "mark.back_mm",
    "How far behind the plunger's tip is the mark, seen from the front?",
    "By ruler, to half a millimetre; in front of it: with a minus; over it: 0.",
    -20.0,
    20.0,
)


def over_mark(what: str) -> Question:
    """Seen once more, either of them."""
    return yes_or_no(
        f"mark.{what}_over",
        f"Is the {what} over the mark, within 1 mm?",
        "Look from two sides.",
        "it is over it",
        "it is beside it",
    )


def way_of_number(screw: BedScrew, *, back: bool) -> Question:
    """A quarter turn, and which way the number went."""
    seen = f"seen from {screw.seen_from.value}"
    if back:
        text = f"Turn the {screw.name} screw back: a quarter turn (90°) anticlockwise, {seen}."
    else:
        text = f"Turn the {screw.name} screw a quarter turn (90°) clockwise, {seen}."
    stand = "" if screw.seen_from is SeenFrom.ABOVE else " Look at it from below the bed."
    return choice(
        f"turn.{'back' if back else 'first'}",
        f"{text} Which way did the number go?",
        f"That tells which way raises the bed there.{stand}",
        (
            Way(
                word="up",
                text="it became more: 0.10 to 0.20, or -0.20 to -0.10",
                value="up",
            ),
            Way(word="down", text="it became less: 0.20 to 0.10, or -0.10 to -0.20", value="down"),
            Way(word="same", text="it stayed", value="same"),
        ),
    )


def bed_up(told: Sequence[str]) -> Question:
    """The turn down taken back."""
    return done(
        "height.bed_up",
        "Take back the turn at each screw, so that the bed is up again. Are all up?",
        f"One full turn: {'; '.join(told)}. The reading height is measured with the bed where "
        "you use it.",
        "each is one turn up",
    )


def as_it_is(came_mm: float, rise_mm: float) -> Question:
    """The bed came up otherwise than asked."""
    return yes_or_no(
        "height.as_it_is",
        f"The bed came up {came_mm:.2f} mm, not {rise_mm:.2f} mm. Is it where you use it?",
        "A screw may have been turned more, less or the other way. If it is as you want it, the "
        "height just measured holds.",
        "it is where it is used",
        "no: the screws are seen to, and it is measured once more",
    )


DRY_CYCLE = go(
    "cycle.go",
    "May the head rise, for a slow dry cycle over all points?",
    "It is the cycle of every run; here each point has an answer of its own. A finger on the mains "
    "switch: it is the emergency stop.",
)


def next_point(point: str) -> Question:
    """One point after the other."""
    return go("cycle.next", f"May it go over {point}?", "")


RISE = go("cycle.rise", "May the head rise?", "That was the last point.")
