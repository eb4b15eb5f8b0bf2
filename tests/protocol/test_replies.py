"""What controllers say, in all the forms of the protocol description."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.protocol.complaints import Gravity
from hostctl.protocol.events import (
    Acknowledged,
    Banner,
    Busy,
    Capability,
    ErrorSaid,
    Event,
    FirmwareNamed,
    HostAsked,
    Info,
    PositionReported,
    ProbeResult,
    ResendAsked,
    TemperatureReported,
    Unrecognised,
    Wait,
)
from hostctl.protocol.replies import events_in


def temperature(
    nozzle: float | None, nozzle_target: float | None, bed: float | None, bed_target: float | None
) -> TemperatureReported:
    return TemperatureReported(
        nozzle_c=nozzle, nozzle_target_c=nozzle_target, bed_c=bed, bed_target_c=bed_target
    )


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("ok", Acknowledged()),
        ("ok ", Acknowledged()),
        ("ok N12 P15 B3", Acknowledged(line=12, text="N12 P15 B3")),
        ("Resend: 7", ResendAsked(line=7)),
        ("Resend:7", ResendAsked(line=7)),
        ("resend 7", ResendAsked(line=7)),
        ("rs 7", ResendAsked(line=7)),
        ("rs N7", ResendAsked(line=7)),
        ("Error:Probing failed", ErrorSaid(text="Probing failed")),
        ("error: no", ErrorSaid(text="no")),
        (
            "Error:checksum mismatch, Last Line: 6",
            ErrorSaid(text="checksum mismatch, Last Line: 6", last_line=6),
        ),
        ("Error:it has halted", ErrorSaid(text="it has halted", gravity=Gravity.STOPPED)),
        ("!! heater fault", ErrorSaid(text="heater fault", gravity=Gravity.THERMAL, marked=True)),
        ("!!", ErrorSaid(text="", gravity=Gravity.STOPPED, marked=True)),
        ("echo:busy: processing", Busy(text="processing")),
        ("busy: paused", Busy(text="paused")),
        ("wait", Wait()),
        ("start", Banner(text="start")),
        ("\ufffd\x00start", Banner(text="\ufffd\x00start")),
        ("X:10.00 Y:1start", Banner(text="X:10.00 Y:1start")),
        ("echo:SD card absent", Info(text="SD card absent")),
        ("// warming up", Info(text="warming up", marked=True)),
        ("//action:pause", HostAsked(action="pause")),
        ("// action:pause", HostAsked(action="pause")),
        (
            "X:10.00 Y:-2.50 Z:5.00 E:0.00 Count X:800 Y:1 Z:2",
            PositionReported(x_mm=10, y_mm=-2.5, z_mm=5),
        ),
        ("T:21.3 /0.0 B:21.1 /60.0 @:0 B@:0", temperature(21.3, 0, 21.1, 60)),
        ("B:21.1 /0.0 T0:21.3 /205.0", temperature(21.3, 205, 21.1, 0)),
        ("T:21.3", temperature(21.3, None, None, None)),
        ("Bed X: 30.00 Y: 190.00 Z: 0.012", ProbeResult(x_mm=30, y_mm=190, z_mm=0.012)),
        ("Bed Position X: 190.00 Y: 30.00 Z: -0.5", ProbeResult(x_mm=190, y_mm=30, z_mm=-0.5)),
        ("// probe at 30.000,190.000 is z=0.012000", ProbeResult(x_mm=30, y_mm=190, z_mm=0.012)),
        ("Cap:EMERGENCY_PARSER:1", Capability(name="EMERGENCY_PARSER", present=True)),
        ("Cap:SETTINGS_KEPT:0", Capability(name="SETTINGS_KEPT", present=False)),
        ("FIRMWARE_NAME:a VERSION:b", FirmwareNamed(text="FIRMWARE_NAME:a VERSION:b")),
        ("ok FIRMWARE", Acknowledged(text="FIRMWARE")),
        ("something else", Unrecognised(text="something else")),
    ],
)  # fmt: skip
def test_a_line_says_one_thing(line: str, said: Event) -> None:
    assert events_in(line) == (said,)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "ok T:21.3 /0.0 B:21.1 /0.0",
            (temperature(21.3, 0, 21.1, 0), Acknowledged(text="T:21.3 /0.0 B:21.1 /0.0")),
        ),
        (
            "ok N9 X:1.00 Y:2.00 Z:3.00",
            (
                PositionReported(x_mm=1, y_mm=2, z_mm=3),
                Acknowledged(line=9, text="N9 X:1.00 Y:2.00 Z:3.00"),
            ),
        ),
    ],
)
def test_a_report_that_rides_on_an_ok_comes_before_it(line: str, said: tuple[Event, ...]) -> None:
    assert events_in(line) == said


@pytest.mark.parametrize(
    "line",
    ["oj", "okay", "ok?", "Resend: 7x", "Resend:", "X:10.0a Y:2.00 Z:3.00", "X:1 Y:2", "restart",
     "start over", "Bed X: 30.00 Y: 30.00 Z: 0.0z2", "Cap:X:2"],
)  # fmt: skip
def test_what_is_damaged_is_not_half_understood(line: str) -> None:
    assert events_in(line) == (Unrecognised(text=line),)


@given(st.text(st.characters(max_codepoint=0xFFFD), max_size=80))
def test_no_line_ever_raises_and_each_says_something(line: str) -> None:
    assert len(events_in(line)) >= 1


@given(st.integers(0, 10**9))
def test_a_resend_request_keeps_its_number(number: int) -> None:
    assert events_in(f"rs N{number}") == (ResendAsked(line=number),)
