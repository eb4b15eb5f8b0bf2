"""What came while a controller was being greeted, and what that tells if it fails."""

from dataclasses import dataclass

from hostctl.errors import LinkError


@dataclass(slots=True)
class Heard:
    """What came since the port was opened: tells a silent machine from a wrong baud rate."""

    bytes: int = 0
    understood: bool = False

    def error(self, url: str, baud: int) -> LinkError:
        """Why the controller could not be greeted."""
        if not self.bytes:
            return LinkError(url, "nothing answers", "See that the machine is on and connected.")
        if not self.understood:
            what = f"{self.bytes} bytes came but no line could be read at {baud} baud"
            return LinkError(url, what, "Give the baud rate that the maker's manual names.")
        return LinkError(
            url, "the machine talks but does not answer", "Reset the board and try again."
        )
