"""What a message on the topic `event` tells of."""

from enum import StrEnum


class EventKind(StrEnum):
    """What happened."""

    CONNECTED = "connected"
    """To the broker."""
    THROWN_OFF = "thrown-off"
    """By the broker, again and again: somebody may use our client ids."""
    STARTED = "started"
    """A run began or went on."""
    QUEUED = "queued"
    """A start was taken."""
    REFUSED = "refused"
    """An answer or command did not count."""
    MARKED = "marked"
    """A trial was voided or skipped."""
    DECIDED = "decided"
    """Something was decided by what was read."""
    HOLD = "hold"
    """The run stands still, and why."""
    HOLD_LIFTED = "hold-lifted"
    """It goes on."""
    HALTED = "halted"
    """A `stop` was taken."""
    FINISHED = "finished"
    """The run is over."""
    REPORT = "report"
    """A run's report was made, or could not be."""
    DROPPED = "dropped"
    """Messages waited too long for the broker."""
