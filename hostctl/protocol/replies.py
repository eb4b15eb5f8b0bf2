"""A line of text becomes events. Liberal: the forms of all dialects are taken, whoever sends them.

Liberal in wording, strict in shape: a number must stand whole, since a reply carries no checksum
and half a number is worse than none. What fits no form is `Unrecognised`, never an exception.
"""

import re
from collections.abc import Callable

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

_NUMBER = r"([-+]?\d+(?:\.\d*)?|[-+]?\.\d+)"
_END = r"(?=\s|$)"
_LAST_LINE = re.compile(r"last line:?\s*(\d+)\s*$", re.IGNORECASE)
_OK_LINE = re.compile(r"N(\d+)" + _END)
_NOZZLE = re.compile(rf"\bT0?:\s*{_NUMBER}(?:\s*/\s*{_NUMBER})?{_END}")
_BED = re.compile(rf"\bB:\s*{_NUMBER}(?:\s*/\s*{_NUMBER})?{_END}")

Build = Callable[[re.Match[str]], Event]


def _error(found: re.Match[str]) -> ErrorSaid:
    text = found[1].strip()
    last = _LAST_LINE.search(text)
    return ErrorSaid(
        text=text, fatal="halted" in text.lower(), last_line=int(last[1]) if last else None
    )


def _position(found: re.Match[str]) -> PositionReported:
    return PositionReported(x_mm=float(found[1]), y_mm=float(found[2]), z_mm=float(found[3]))


def _probe(found: re.Match[str]) -> ProbeResult:
    return ProbeResult(x_mm=float(found[1]), y_mm=float(found[2]), z_mm=float(found[3]))


def _temperature(found: re.Match[str]) -> TemperatureReported:
    nozzle, nozzle_target = _reading(_NOZZLE, found.string)
    bed, bed_target = _reading(_BED, found.string)
    return TemperatureReported(
        nozzle_c=nozzle, nozzle_target_c=nozzle_target, bed_c=bed, bed_target_c=bed_target
    )


def _reading(sensor: re.Pattern[str], text: str) -> tuple[float | None, float | None]:
    found = sensor.search(text)
    if not found:
        return None, None
    return float(found[1]), float(found[2]) if found[2] else None


def _form(pattern: str, build: Build, flags: int = 0) -> tuple[re.Pattern[str], Build]:
    return re.compile(pattern, flags), build


_REPORTS = [
    _form(rf"(?://\s*)?X:\s*{_NUMBER}\s+Y:\s*{_NUMBER}\s+Z:\s*{_NUMBER}{_END}", _position),
    _form(rf"(?://\s*)?(?:T0?|B):\s*{_NUMBER}(?:\s|/|$)", _temperature),
    _form(
        rf"(?://\s*)?Bed\b[^:]*\bX:\s*{_NUMBER}\s+Y:\s*{_NUMBER}\s+Z:\s*{_NUMBER}\s*$",
        _probe,
        re.IGNORECASE,
    ),
    _form(
        rf"(?://\s*)?probe at\s*{_NUMBER}\s*,\s*{_NUMBER}\s+is\s+z\s*=\s*{_NUMBER}\s*$",
        _probe,
        re.IGNORECASE,
    ),
    _form(r".*\bFIRMWARE_NAME:", lambda found: FirmwareNamed(text=found.string)),
]

# In this order: the first form that fits is taken.
_FORMS = [
    *_REPORTS,
    _form(r"wait$", lambda _: Wait()),
    _form(r"(?:echo:\s*)?busy:\s*(.*)", lambda found: Busy(text=found[1])),
    _form(
        r"(?:resend|rs)(?::|\s)\s*N?(\d+)$",
        lambda found: ResendAsked(line=int(found[1])),
        re.IGNORECASE,
    ),
    _form(r"error:(.*)", _error, re.IGNORECASE),
    _form(r"!!(.*)", lambda found: ErrorSaid(text=found[1].strip(), fatal=True)),
    _form(r"//\s*action:(.*)", lambda found: HostAsked(action=found[1].strip())),
    _form(
        r"(?://\s*)?Cap:(\w+):([01])$",
        lambda found: Capability(name=found[1], present=found[2] == "1"),
    ),
    _form(r"(?:echo:|//)\s*(.*)", lambda found: Info(text=found[1])),
    # A board that resets in mid-sentence leaves half a line, or garbage, before its first word.
    _form(r"(?:.*[^A-Za-z\s])?start$", lambda found: Banner(text=found.string)),
]

_PLAIN_OK: tuple[Event, ...] = (Acknowledged(),)


def events_in(line: str) -> tuple[Event, ...]:
    """What `line` says: usually one event; a report that rides on an `ok` comes before it."""
    if line == "ok":
        return _PLAIN_OK
    text = line.strip()
    if text == "ok" or text.startswith("ok "):
        return _acknowledged(text[2:].strip())
    return (_first_fit(_FORMS, text) or Unrecognised(text=text),)


def _acknowledged(text: str) -> tuple[Event, ...]:
    number = _OK_LINE.match(text)
    acknowledged = Acknowledged(line=int(number[1]) if number else None, text=text)
    rest = text[number.end() :].strip() if number else text
    report = _first_fit(_REPORTS, rest)
    return (report, acknowledged) if report else (acknowledged,)


def _first_fit(forms: list[tuple[re.Pattern[str], Build]], text: str) -> Event | None:
    for pattern, build in forms:
        if found := pattern.match(text):
            return build(found)
    return None
