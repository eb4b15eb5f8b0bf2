"""What turns that were not all made did to a plate on four or more screws: they may strain it."""

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]


def twist_of(arms: Floats, raises: Floats) -> Floats:
    """The part of these raises, in mm, that lies on no plane.

    arms: rows of `LevelPlane.arms` at the screws.
    """
    return np.asarray(raises - arms @ np.linalg.pinv(arms) @ raises)


def share_made(arms: Floats, moved: Floats, made: Floats, begun: Floats) -> float:
    """Which share of a turn was made that was broken off: 1 is all of it, -1 all the wrong way.

    moved: by how much the plane moved at the screws, mm; what is common to all may be homing and
    is let be. made: the raises that were made for certain. begun: that of the turn in question, 0
    at all other screws. By least squares, on a plate taken as stiff; within -1 and 2.
    """
    on_plane = arms @ np.linalg.pinv(arms)
    by_begun = _apart(on_plane @ begun)
    size = float(by_begun @ by_begun)
    left = _apart(moved - on_plane @ made)
    return float(np.clip(left @ by_begun / size, -1.0, 2.0)) if size else 0.0


def _apart(values: Floats) -> Floats:
    return np.asarray(values - values.mean())
