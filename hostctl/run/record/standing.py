"""The words for how a station stands."""

from enum import StrEnum


class Standing(StrEnum):
    """How a station stands, in one word."""

    NO_LINE = "no line"
    """The machine can't be reached."""
    OWN_JOB = "own job"
    """The board runs a job that is not ours: it is only asked and shown."""
    RESTING = "resting"
    """Nothing is going on."""
    MOVING = "moving"
    """A run is going on and the machine may move."""
    ASKING = "asking"
    """A run waits for a person."""
    HOLDING = "holding"
    """A run stands still and says why."""
    HALTED = "halted"
    """The machine was told to halt at once: by a STOP, until it is connected anew."""
