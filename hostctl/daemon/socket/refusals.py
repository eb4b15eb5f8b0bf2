"""What to do after a refusal on the local socket: the next step for each reason."""

LOOK = "What it does now: hostctl status"
_NEXT = (
    ("no run is going on", "If a machine moves all the same: hostctl stop"),
    ("nothing is asked now", "To see when something is asked: hostctl status --watch"),
    ("only just appeared", "Look at it first: hostctl status"),
    ("answered already", "For what is asked now: hostctl status"),
    ("is being kept", "What comes of it: hostctl status"),
    ("was withdrawn", "Why, and what is asked now: hostctl status"),
    ("not recorded", "What to do is in the hold: hostctl status"),
    ("belongs to another prompt", "For what is asked now: hostctl status"),
    ("indicator's cable", "To hold it from here: hostctl hold"),
    ("say which it is", "To hold it from here: hostctl hold"),
    ("thicker than nothing", "In mm, as in: hostctl answer 0.10"),
    ("a thickness is asked for", "In mm, as in: hostctl answer 0.10"),
    ("a reading is asked for", "As in: hostctl answer -0.02"),
    ("no reading is asked for", "As in: hostctl answer done"),
    ("belongs to no trial", "Take done, hold or end."),
    ("without its zero", "Take done, redo, hold or end."),
    ("without its tie", "Take done, redo, hold or end."),
    ("is no number, nor", "As in: hostctl answer -0.02, or hostctl answer done"),
    ("a run is going on", "Wait until it is over: hostctl status --watch"),
    ("runs are waiting already", "Wait until one of them is over: hostctl status --watch"),
    ("no room code is shown", "Have one shown: hostctl arm --show"),
    ("not the code", "Read it again at the machine; a fresh one: hostctl arm --show"),
    ("is not connected yet", "It is just being tried: ask again in a few seconds."),
    ("is not connected again yet", "What to do now: hostctl status"),
    ("can't be reached", "Why not: hostctl status"),
    ("too many wrong codes", "Whoever is at the machine can arm it with a press."),
)
"""A part of the reason, and what to do next; the first that fits."""


def next_step(reason: str) -> str:
    """What to do after this refusal."""
    return next((step for part, step in _NEXT if part in reason), LOOK)
