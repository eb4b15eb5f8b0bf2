"""The topics of one machine: `hostctl/<machine>/…`."""

from dataclasses import dataclass

ONLINE, OFFLINE = "online", "offline"


@dataclass(frozen=True, slots=True)
class Topics:
    """Where what is said. What comes in is never retained; `online`, `state`, `prompt` are."""

    machine: str

    @property
    def tree(self) -> str:
        """Everything below the machine."""
        return f"hostctl/{self.machine}"

    @property
    def everything(self) -> str:
        """The one subscription: it brings answers, commands, strays, and our own echo."""
        return f"{self.tree}/#"

    @property
    def online(self) -> str:
        """Retained: `online`, or `offline` (the broker says it when we vanish)."""
        return f"{self.tree}/online"

    @property
    def state(self) -> str:
        """Retained: how the machine stands."""
        return f"{self.tree}/state"

    @property
    def prompt(self) -> str:
        """Retained: what is asked now."""
        return f"{self.tree}/prompt"

    @property
    def reading(self) -> str:
        """Each reading once it is on disk."""
        return f"{self.tree}/reading"

    @property
    def event(self) -> str:
        """What happened."""
        return f"{self.tree}/event"

    @property
    def answer(self) -> str:
        """Answers come in."""
        return f"{self.tree}/answer"

    @property
    def hold(self) -> str:
        """Whatever comes in here holds the run."""
        return f"{self.tree}/hold"

    @property
    def stop(self) -> str:
        """Whatever comes in here halts the machine."""
        return f"{self.tree}/stop"

    @property
    def urgent(self) -> tuple[str, str]:
        """What has a connection of its own."""
        return self.stop, self.hold

    @property
    def command(self) -> str:
        """Commands come in."""
        return f"{self.tree}/command"
