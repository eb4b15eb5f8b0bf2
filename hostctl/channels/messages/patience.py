"""How long to wait before the next attempt to reach the broker, and when to say what is wrong."""

from collections.abc import Callable

from aiomqtt import MqttError
from aiomqtt.exceptions import MqttCodeError, MqttConnectError
from paho.mqtt.reasoncodes import ReasonCode

FIRST_S, LONGEST_S = 0.5, 8.0
LASTING_S = 10.0  # a connection that lasted this long was a good one
_SAYS_NOTHING = 128  # the library's code where a 3.1.1 broker just went away
_REFUSES_US = {4, 5, 134, 135}  # MQTT 3.1.1, 3.2.2.3; MQTT 5, 3.2.2.2: credentials, authorisation


class Patience:
    """Waits longer after each failure; says each kind of trouble once, and when it is over."""

    def __init__(self, where: str, say: Callable[[str], None]) -> None:
        self._where = where
        self._say = say
        self._wait_s = FIRST_S
        self._said = ""
        self._connected_s: float | None = None

    def connected(self, at_s: float) -> None:
        """The broker took us."""
        self._connected_s = at_s
        self._tell(f"connected to the broker {self._where}")

    def failed(self, fault: BaseException, at_s: float) -> float:
        """An attempt failed or a connection was lost; gives how many seconds to wait."""
        if self._connected_s is not None and at_s - self._connected_s >= LASTING_S:
            self._wait_s = FIRST_S
        self._connected_s = None
        self._tell(f"{in_words(fault, self._where)}; messages wait until it is mended")
        wait_s, self._wait_s = self._wait_s, min(LONGEST_S, 2 * self._wait_s)
        return wait_s

    def _tell(self, sentence: str) -> None:
        if sentence != self._said:
            self._said = sentence
            self._say(sentence)


def in_words(fault: BaseException, where: str) -> str:
    """What is wrong with the broker at `where`, for a person."""
    if isinstance(fault, MqttConnectError) and _code(fault) in _REFUSES_US:
        return f"the broker {where} refuses the user or password in host.yaml"
    if isinstance(fault, MqttConnectError):
        return f"the broker {where} refuses us ({fault})"
    if isinstance(fault.__cause__, MqttCodeError) and _code(fault.__cause__) == _SAYS_NOTHING:
        return f"the connection to the broker {where} was lost"
    if isinstance(fault, MqttError):
        return f"the broker {where} can't be reached ({_first_line(fault.__cause__ or fault)})"
    return str(fault)


def _code(fault: MqttCodeError) -> int | None:
    return fault.rc.value if isinstance(fault.rc, ReasonCode) else fault.rc


def _first_line(fault: BaseException) -> str:
    return (str(fault).splitlines() or [type(fault).__name__])[0][:160]
