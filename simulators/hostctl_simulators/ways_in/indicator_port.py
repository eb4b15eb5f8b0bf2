"""`sim://NAME/indicator?…`: the simulated printer's indicator, behind the door of a serial port."""

from hostctl_simulators.readout.readout import OnBytes, OnLost, Readout


class SimIndicatorPort:
    """An open port to it. Implements `Port` of `hostctl.link.port`."""

    def __init__(self, name: str, readout: Readout) -> None:
        """Raises ConnectionError when the cable is pulled or somebody holds it already."""
        self.name = name
        self._readout = readout
        self._held = True
        readout.connect(self._too_early, lambda _: None)

    def start(self, on_bytes: OnBytes, on_lost: OnLost) -> None:
        """Begin to deliver what comes in."""
        self._readout.disconnect()
        self._on_lost = on_lost
        self._readout.connect(on_bytes, self._lose)

    def write(self, data: bytes) -> None:
        """Send `data`."""
        if self._held:
            self._readout.write(data)

    async def close(self) -> None:
        """Let go of the port."""
        if self._held:
            self._held = False
            self._readout.disconnect()

    def _too_early(self, data: bytes) -> None:
        """What is sent before anybody listens is lost."""

    def _lose(self, why: str) -> None:
        self._held = False
        self._on_lost(why)
