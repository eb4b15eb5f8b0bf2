"""How a run was done, taken from a report's data."""

import json

from hostctl.report.enclosed.parts import Part, Unfit, check_depth
from hostctl.report.enclosed.sourced import Account
from hostctl.report.enclosed.tie_checked import check_event
from hostctl.store.rows import NewEvent, NewMark

_MOST_DIGITS = 1000
_MARKS = ("void", "skipped")


def account_from(part: Part) -> Account:
    """The account. Raises Unfit."""
    run = part.whole("run")
    return Account(
        run=run,
        study=part.text("study"),
        title=part.text("title"),
        kind=part.text("kind"),
        machine=part.text("machine"),
        study_text=part.whole_text("study_text"),
        machine_text=part.whole_text("machine_text"),
        seed=_seed(part),
        started_at=part.instant("started_at_utc"),
        ended_at=part.or_none("ended_at_utc", part.instant),
        complete=part.flag("complete"),
        end_reason=part.text("end_reason"),
        program=part.text("program"),
        marks=tuple(_mark(one, run) for one in part.parts("marks")),
        events=tuple(_event(one, run) for one in part.parts("events")),
    )


def _seed(part: Part) -> int:
    """A whole number of many digits, written as a text: other programs would round a number."""
    digits = part.whole_text("seed")
    plain = digits.removeprefix("-")
    if not (plain.isascii() and plain.isdecimal() and len(plain) <= _MOST_DIGITS):
        raise Unfit(f"{part.at}.seed is no whole number")
    return int(digits)


def _mark(part: Part, run: int) -> NewMark:
    mark = part.text("mark")
    if mark not in _MARKS:
        raise Unfit(f"{part.at}.mark is none of {', '.join(_MARKS)}")
    return NewMark(
        run=run,
        block=part.whole("block"),
        round=part.whole("round"),
        trial=part.or_none("trial", part.whole),
        attempt=part.or_none("attempt", part.whole),
        mark=mark,
        reason=part.text("reason"),
        at=part.instant("at_utc"),
    )


def _event(part: Part, run: int) -> NewEvent:
    data = part.value("data")
    check_depth(data, f"{part.at}.data")
    check_event(part.text("kind"), data, f"{part.at}.data")
    return NewEvent(
        run=run,
        at=part.instant("at_utc"),
        kind=part.text("kind"),
        text=part.text("text"),
        data=json.dumps(data),
    )
