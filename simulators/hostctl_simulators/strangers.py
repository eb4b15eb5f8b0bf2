"""Printers that nobody knows yet: as many as there are seeds, each built otherwise."""

from random import Random
from urllib.parse import urlencode

from hostctl_simulators.board.wording import WORDINGS
from hostctl_simulators.chance import stream

STRANGER = "stranger"
KIND_OF_STRANGERS = "workshop-220"
TIGHT = 0.15  # so many have little room beside the head at the ends of the travel


def stranger_url(seed: int, **more: object) -> str:
    """The printer of this seed, its indicator in its box, its bed as it was delivered."""
    keys = keys_of_stranger(seed) | {"seed": seed} | more
    return f"sim://{KIND_OF_STRANGERS}?{urlencode(keys)}"


def keys_of_stranger(seed: int) -> dict[str, object]:
    """The keys of its url."""
    chance = stream(seed, "a stranger")
    bed = {
        "tilt_mm": round(chance.uniform(0.1, 1.0), 2),
        "bed_mm": round(chance.uniform(-0.9, -0.6), 2),
        "screws": chance.choice((3, 4, 4, 4)),
        "raises": chance.choice(("clockwise", "anticlockwise")),
        "pitch_mm": chance.choice((0.5, 0.7, 0.7, 0.8)),  # M3, M4, M5 coarse: ISO 261
        "odd_screw": chance.choice((0, 0, 0, 0, 0, 2)),
    }
    travel = {
        "from_x_mm": chance.choice((0, 0, -5, -12.5)),
        "from_y_mm": chance.choice((0, 0, -3, 4)),
        "wide_mm": chance.choice((180, 200, 220, 235, 300)),
        "deep_mm": chance.choice((180, 200, 220, 235, 300)),
        "high_mm": chance.choice((120, 180, 250)),
    }
    return (
        {"dialect": chance.choice(sorted(WORDINGS)), "unmounted": 1} | bed | travel | _mount(chance)
    )


def _mount(chance: Random) -> dict[str, object]:
    aside_mm = round(chance.uniform(15, 28), 1) * chance.choice((-1, 1))
    tight = chance.random() < TIGHT
    return {
        "indicator_falls": chance.choice((0, 1)),
        "hangs_mm": round(chance.uniform(3, 9), 1),
        "offset_x_mm": aside_mm,
        "offset_y_mm": round(chance.uniform(-9, 9), 1),
        "sticks_out_mm": round(chance.uniform(12, 25)),
        "room_left_mm": 14 if tight else round(chance.uniform(30, 60)),
        "room_right_mm": 14 if tight else round(chance.uniform(30, 60)),
    }
