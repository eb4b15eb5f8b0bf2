"""What error lines mean, in the words of many firmwares: the wording is from memory."""

import pytest

from hostctl.protocol.complaints import Gravity
from hostctl.protocol.events import ErrorSaid
from hostctl.protocol.replies import events_in

THERMAL = [
    "Error:Thermal Runaway, system stopped! Heater_ID: E0",
    "Error:Thermal Runaway, system stopped! Heater_ID: bed",
    "Error:Heating failed, system stopped! Heater_ID: E0",
    "Error:Heating failed",
    "Error: MAXTEMP triggered, system stopped! Heater_ID: E0",
    "Error:0\t: Extruder switched off. MINTEMP triggered !",
    "Error:MINTEMP BED",
    "Error:Min temp on heater 1",
    "Error:Printer stopped due to errors. Fix the error and use M999 to restart.",
    "Error:Temperature too low on the bed",
    "Error: Heater 1 fault: temperature excursion exceeded 15.0C",
    "error: thermistor disconnected",
    "Error:Bed heating timed out",
    "!! Heater extruder not heating at expected rate",
    "!! heater fault",
    "!! ADC out of range",
    "!! Thermocouple reader fault",
    "// Error: heater_bed fault",
    "echo:Thermal Runaway detected",
    "MAXTEMP triggered",
    "fatal: heater fault on heater 0",
]
STOPPED = [
    "Error:Printer halted. kill() called!",
    "Error:halted, nothing is done until the board is reset",
    "!! Emergency stop requested - reset or M999 required",
    "!! Lost communication with the board",
    "!!",
    "Error: machine must be reset",
]
REFUSALS = [
    "Error:Probing failed",
    "Error: Probe sensor did not trigger",
    "Error:Filament sensor error",
    "!! Must home axis first: 10.000 10.000 5.000 [0.000]",
    "!! Move out of range: 300.000 0.000 5.000 [0.000]",
    "!! No trigger on probe after full movement",
    "!! no touch: the bed is out of the probe's reach",
    "!! Requested temperature (999.0) out of range (0.0:260.0)",
    "Error:target refused: at most 260",
    "error: cold extrusion prevented",
]


@pytest.mark.parametrize(
    ("line", "gravity"),
    [
        *((line, Gravity.THERMAL) for line in THERMAL),
        *((line, Gravity.STOPPED) for line in STOPPED),
        *((line, Gravity.REFUSAL) for line in REFUSALS),
    ],
)
def test_how_bad_an_error_is(line: str, gravity: Gravity) -> None:
    (said,) = events_in(line)
    assert isinstance(said, ErrorSaid)
    assert (said.gravity, said.last_line) == (gravity, None)


@pytest.mark.parametrize(
    "line",
    [
        "Cap:THERMAL_PROTECTION:1",
        "FIRMWARE_NAME:a THERMAL:1",
        "echo:  PID bed heater P1 I2 D3",
        "echo:busy: heating",
        "T:21.3 /0.0 B:21.1 /0.0 @:0 B@:0",
        "Error:checksum mismatch, Last Line: 6",
        "Error:Line Number is not Last Line Number+1, Last Line: 6",
        "echo:Last reset: watchdog",
    ],
)
def test_what_is_no_alarm(line: str) -> None:
    for said in events_in(line):
        assert not isinstance(said, ErrorSaid) or said.last_line == 6
