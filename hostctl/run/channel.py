"""A channel: a way prompts go out and answers come in. Declared here, where it is used."""

from typing import Protocol

from hostctl.plugins import Kind
from hostctl.run.desk import Desk


class Channel(Protocol):
    """One way to the people at the machine.

    `serve` reads `desk.news()` and hands in answers with `desk.answer(…)` until it is cancelled.
    A channel that fails must not take the run with it: whoever starts it catches and says so.
    """

    name: str

    async def serve(self, desk: Desk) -> None:
        """Show news and pass answers on, until cancelled."""
        ...


class ChannelFactory(Protocol):
    """What a channel plug-in is: called with its section of the settings."""

    def __call__(self, settings: dict[str, object]) -> Channel:
        """Make the channel; raises ConfigError when the settings are wrong."""
        ...


CHANNELS: Kind[ChannelFactory] = Kind("hostctl.channels")
