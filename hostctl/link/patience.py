"""How long a link waits for things that are not a command."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Patience:
    """How long the link waits for things that are not a command, in seconds."""

    quiet_s: float = 0.05
    """So long without a byte, after anything irregular, and the past is taken to be over."""
    settle_s: float = 1.0
    """It is taken to be over after this even if bytes keep coming."""
    listen_s: float = 2.5
    """So long a port is listened to before anything is sent: a board that boots is not talked to,
    and many boot when a port is opened."""
    hush_s: float = 0.25
    """A board that has begun to greet is done after so long without a byte."""
    boot_s: float = 12.0
    """From the opening of the port to the controller's introduction."""
    greet_s: float = 2.0
    """For one try at either step of the introduction."""
    look_s: float = 0.5
    """Between two looks for a port that has gone."""
