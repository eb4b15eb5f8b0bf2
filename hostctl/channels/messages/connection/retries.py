"""How long to wait before the next attempt to reach the broker, and when to say what is wrong."""

from collections import deque
from collections.abc import Callable, Iterator

from aiomqtt import MqttError
from aiomqtt.exceptions import MqttCodeError, MqttConnectError
from paho.mqtt.reasoncodes import ReasonCode

FIRST_S, LONGEST_S = 0.5, 8.0
LASTING_S = 10.0  # a connection that lasted this long was a good one
ENDS, ENDS_WITHIN_S = 3, 60.0  # so often in so long is no chance
_SAYS_NOTHING = 128  # the library's code where a broker just went away
_TAKEN_OVER = 142  # MQTT 5, 3.14.2.1: another client has our id
_REFUSES_US = {4, 5, 134, 135}  # MQTT 3.1.1, 3.2.2.3; MQTT 5, 3.2.2.2: credentials, authorisation


class Retries:
    """Waits longer after each failure; says each kind of trouble once, and when it is over."""

    def __init__(self, where: str, say: Callable[[str], None]) -> None:
        self._where = where
        self._say = say
        self._wait_s = FIRST_S
        self._said = ""
        self._connected_s: float | None = None
        self._ends_s: deque[float] = deque(maxlen=ENDS)
        self.trouble = ""
        """What is wrong now, in a sentence."""
        self.thrown_off = ""
        """Whether, by the latest failure, somebody throws us off the broker: a sentence."""

    def connected(self, at_s: float) -> None:
        """The broker took us."""
        self._connected_s = at_s
        self.trouble = ""
        self._tell(f"connected to the broker {self._where}")

    def failed(self, fault: BaseException, at_s: float) -> float:
        """An attempt failed or a connection was lost; gives how many seconds to wait."""
        if self._connected_s is not None and at_s - self._connected_s >= LASTING_S:
            self._wait_s = FIRST_S
        self.thrown_off = self._thrown_off(fault, at_s)
        if self.thrown_off:
            self._wait_s = FIRST_S
        self._connected_s = None
        why = self.thrown_off or in_words(fault, self._where)
        self.trouble = f"{why}; messages wait until it is mended"
        self._tell(self.trouble)
        wait_s, self._wait_s = self._wait_s, min(LONGEST_S, 2 * self._wait_s)
        return wait_s

    def _thrown_off(self, fault: BaseException, at_s: float) -> str:
        """MQTT 5 brokers may say so. Else it shows only in how often they end what they took."""
        if _ended_with(fault) == _TAKEN_OVER:
            return f"another client took our id at the broker {self._where}, which ended us for it"
        if self._connected_s is not None and _ended_with(fault) is not None:
            self._ends_s.append(at_s)
        if len(self._ends_s) < ENDS or at_s - self._ends_s[0] > ENDS_WITHIN_S:
            return ""
        self._ends_s.clear()
        return (
            f"the broker {self._where} ended our connection {ENDS} times within a minute: "
            "another client may use our id, or the way there is bad"
        )

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
    if _ended_with(fault) == _SAYS_NOTHING:
        return f"the connection to the broker {where} was lost"
    if isinstance(fault, MqttError):
        return f"the broker {where} can't be reached ({_first_line(fault.__cause__ or fault)})"
    return str(fault)


def most_telling(faults: BaseExceptionGroup[BaseException]) -> BaseException:
    """The end of the connection, rather than what failed because of it; else the first."""
    leaves = list(_leaves(faults))
    return next((leaf for leaf in leaves if _ended_with(leaf) is not None), leaves[0])


def _leaves(faults: BaseExceptionGroup[BaseException]) -> Iterator[BaseException]:
    for fault in faults.exceptions:
        if isinstance(fault, BaseExceptionGroup):
            yield from _leaves(fault)
        else:
            yield fault


def _ended_with(fault: BaseException) -> int | None:
    """The code with which the broker ended the connection; None where it did not."""
    cause = fault.__cause__
    code = _code(cause) if isinstance(cause, MqttCodeError) else None
    return code if code in (_SAYS_NOTHING, _TAKEN_OVER) else None


def _code(fault: MqttCodeError) -> int | None:
    return fault.rc.value if isinstance(fault.rc, ReasonCode) else fault.rc


def _first_line(fault: BaseException) -> str:
    return (str(fault).splitlines() or [type(fault).__name__])[0][:160]
