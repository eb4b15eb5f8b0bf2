"""A line of text becomes events. Liberal: the forms of all dialects are taken, whoever sends them.

Liberal in wording, strict in shape: a number must stand whole, since a reply carries no checksum
and half a number is worse than none. What fits no form is `Unrecognised`, never an exception.
"""

import re
from collections.abc import Callable

from hostctl.protocol.complaints import Gravity, gravity_of, is_thermal_alarm
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
    ResendAsked,
    Unrecognised,
    Wait,
)
from hostctl.protocol.reports import report_in

_LAST_LINE = re.compile(r"last line:?\s*(\d+)\s*$", re.IGNORECASE)
_OK_LINE = re.compile(r"(?:N(\d+)(?=\s|$))?(?:\s*P\d+(?=\s|$))?(?:\s*B\d+(?=\s|$))?")
_FIRMWARE = r".*\bFIRMWARE_NAME:"

Build = Callable[[re.Match[str]], Event]


def _error(found: re.Match[str]) -> ErrorSaid:
    text = found[1].strip()
    last = _LAST_LINE.search(text)
    if last:
        return ErrorSaid(text=text, last_line=int(last[1]))
    return ErrorSaid(text=text, gravity=gravity_of(text))


def _marked_error(found: re.Match[str]) -> ErrorSaid:
    text = found[1].strip()
    return ErrorSaid(text=text, gravity=gravity_of(text, marked=True), marked=True)


def _remark(found: re.Match[str]) -> Info | ErrorSaid:
    text = found[2].strip()
    if is_thermal_alarm(text):
        return ErrorSaid(text=text, gravity=Gravity.THERMAL)
    return Info(text=text, marked=found[1] == "//")


def _unrecognised(text: str) -> Unrecognised | ErrorSaid:
    if is_thermal_alarm(text):
        return ErrorSaid(text=text, gravity=Gravity.THERMAL)
    return Unrecognised(text=text)


def _form(pattern: str, build: Build, flags: int = 0) -> tuple[re.Pattern[str], Build]:
    return re.compile(pattern, flags), build


# In this order: the first form that fits is taken.
_FORMS = [
    _form(_FIRMWARE, lambda found: FirmwareNamed(text=found.string)),
    _form(r"wait$", lambda _: Wait()),
    _form(r"(?:echo:\s*)?busy:\s*(.*)", lambda found: Busy(text=found[1])),
    _form(
        r"(?:resend|rs)(?::|\s)\s*N?(\d+)$",
        lambda found: ResendAsked(line=int(found[1])),
        re.IGNORECASE,
    ),
    _form(r"(?:echo:\s*|//\s*)?(?:error|fatal)\b\s*:?(.*)", _error, re.IGNORECASE),
    _form(r"!!(.*)", _marked_error),
    _form(r"//\s*action:(.*)", lambda found: HostAsked(action=found[1].strip())),
    _form(
        r"(?://\s*)?Cap:(\w+):([01])$",
        lambda found: Capability(name=found[1], present=found[2] == "1"),
    ),
    _form(r"(echo:|//)\s*(.*)", _remark),
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
    return (report_in(text) or _first_fit(text) or _unrecognised(text),)


def _acknowledged(text: str) -> tuple[Event, ...]:
    found = _OK_LINE.match(text)
    rest = text[found.end() :].strip() if found else text
    acknowledged = Acknowledged(line=int(found[1]) if found and found[1] else None, text=text)
    report = report_in(rest) or (FirmwareNamed(text=rest) if re.match(_FIRMWARE, rest) else None)
    return (report, acknowledged) if report else (acknowledged,)


def _first_fit(text: str) -> Event | None:
    for pattern, build in _FORMS:
        if found := pattern.match(text):
            return build(found)
    return None
