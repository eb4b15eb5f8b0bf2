"""An enclosure as JSON text, and what a page needs to hold it: a script element and two hashes.

The same enclosure gives the same bytes. The text is ASCII, so that no encoding can change it, and
holds no `<`, `>` or `&`, so that no name in it can end the script element or begin another.

The hashes are a check against accident and no signature: whoever changes the data on purpose can
write the hash anew.
"""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from hashlib import sha256
from itertools import chain
from math import isnan
from operator import sub
from typing import Any

from hostctl.errors import DataError
from hostctl.report.enclosed.enclosure import MOST_READINGS, Asked, Enclosure, RigCheck
from hostctl.report.enclosed.sourced import Account, Rows, Sourced
from hostctl.report.sources.material import Goal, Material
from hostctl.store.file.instants import utc_text

FORMAT, VERSION = "hostctl report", 1
NO_HASH = "0" * 64
"""What stands for the hash of the file while it is worked out."""

_FOR_SCRIPT = (("<", "\\u003c"), (">", "\\u003e"), ("&", "\\u0026"))
_FILE_HASH = re.compile(rf'(<meta name="file-sha256" content="){NO_HASH}(">)')


def enclosed_json(enclosure: Enclosure) -> str:
    """The enclosure as it stands in the script element.

    Raises DataError for more readings than anybody would read back.
    """
    if enclosure.readings > MOST_READINGS:
        what = f"{enclosure.readings} readings are more than the {MOST_READINGS} of a report"
        raise DataError("report", what, "Report fewer runs at once.")
    return _object(
        {
            "format": _text(FORMAT),
            "version": _text(VERSION),
            "program": _text(enclosure.program),
            "made_at_utc": _text(utc_text(enclosure.made_at)),
            "sources": f"[{','.join(map(_source, enclosure.sources))}]",
            "rig": _source(enclosure.rig) if enclosure.rig is not None else "null",
            "asked": _text(_asked(enclosure.asked)),
            "checks": _text([_check(check) for check in enclosure.checks]),
            "found": _text(enclosure.found),
        }
    )


def data_sha256(json_text: str) -> str:
    """The hash of the data: of the text as it stands, in UTF-8."""
    return sha256(json_text.encode()).hexdigest()


def metas_of(json_text: str, data_file: str | None = None) -> str:
    """What belongs into the page's head. data_file: where the data lie, if not in the page."""
    data = f'<meta name="data-sha256" content="{data_sha256(json_text)}">'
    file = f'<meta name="file-sha256" content="{NO_HASH}">'
    if data_file is None:
        return f"{data}\n{file}"
    return f'{data}\n{file}\n<meta name="data-file" content="{_in_attribute(data_file)}">'


def script_of(json_text: str) -> str:
    """The element that holds the data; nothing runs it."""
    return f'<script type="application/json" id="enclosed">{json_text}</script>'


def sealed(page: str) -> str:
    """The page with the hash of itself filled in, worked out with zeros in its place."""
    return _FILE_HASH.sub(rf"\g<1>{sha256(page.encode()).hexdigest()}\g<2>", page, count=1)


def _in_attribute(name: str) -> str:
    return name.replace("&", "&amp;").replace('"', "&quot;").replace("<", "&lt;")


def _text(data: Any) -> str:
    """Plain data as JSON that stands in a script element."""
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    for sign, escaped in _FOR_SCRIPT:
        text = text.replace(sign, escaped)
    return text


def _object(members: Mapping[str, str]) -> str:
    """Of texts that are JSON already: a million readings are never a million objects."""
    inner = (f'"{name}":{text}' for name, text in members.items())
    return f"{{{','.join(inner)}}}"


def _source(source: Sourced) -> str:
    return _object(
        {
            "material": _text(_material(source.material)),
            "account": _text(_account(source.account) if source.account is not None else None),
            "groups": _text([asdict(group) for group in source.rows.groups]),
            "rows": _rows(source.rows),
            "voids": _text(source.rows.voids),
        }
    )


def _material(material: Material) -> dict[str, Any]:
    return {
        "name": material.name,
        "title": material.title,
        "kind": material.kind,
        "machine": material.machine,
        "reference": material.reference,
        "zero_known": material.zero_known,
        "own_zeros": material.own_zeros,
        "resolution_mm": material.resolution_mm,
        "resolution_from": material.resolution_from,
        "goal": _goal(material.goal),
        "notes": material.notes,
    }


def _goal(goal: Goal | None) -> dict[str, float] | None:
    return None if goal is None else asdict(goal)


def _account(account: Account) -> dict[str, Any]:
    return {
        "run": account.run,
        "study": account.study,
        "title": account.title,
        "kind": account.kind,
        "machine": account.machine,
        "study_text": account.study_text,
        "machine_text": account.machine_text,
        "seed": str(account.seed),
        "started_at_utc": utc_text(account.started_at),
        "ended_at_utc": utc_text(account.ended_at) if account.ended_at is not None else None,
        "complete": account.complete,
        "end_reason": account.end_reason,
        "program": account.program,
        "marks": [_at_utc(asdict(mark)) for mark in account.marks],
        "events": [
            _at_utc(asdict(event) | {"data": json.loads(event.data)}) for event in account.events
        ],
    }


def _at_utc(row: Mapping[str, Any]) -> dict[str, Any]:
    """Without the number of the run, which the account has, and with the time as text."""
    return {
        "at_utc" if name == "at" else name: utc_text(value)
        if isinstance(value, datetime)
        else value
        for name, value in row.items()
        if name != "run"
    }


def _rows(rows: Rows) -> str:
    at_ms, of_ties = rows.taken_at_ms, rows.tie_resolution_mm
    after_ms = None if at_ms is None else map(sub, at_ms, chain((0,), at_ms))
    return _object(
        {
            "group": _column(rows.group),
            "trial": _column(rows.trial),
            "attempt": _column(rows.attempt),
            "is_zero": _column(rows.is_zero),
            "value_mm": _column(rows.value_mm),
            "void": _column(rows.void),
            "taken_after_ms": _column(after_ms),
            "nozzle_c": _column(rows.nozzle_c),
            "bed_c": _column(rows.bed_c),
            **({"tie_resolution_mm": _column(of_ties)} if of_ties else {}),
        }
    )


def _column(values: Iterable[float] | None) -> str:
    """A list; what is not known is null."""
    return "null" if values is None else f"[{','.join(map(_Texts().__getitem__, values))}]"


class _Texts(dict[float, str]):
    """Each number as text. Columns hold few that differ, so most are only looked up."""

    def __missing__(self, value: float) -> str:
        if isnan(value):
            return "null"
        text = self[value] = json.dumps(value, allow_nan=False)
        return text


def _asked(asked: Asked) -> dict[str, Any]:
    look = asked.look
    return {
        "goal": _goal(asked.goal),
        "margin": asked.margin,
        "method": asked.method,
        "operator": asked.operator,
        "apart": asked.apart,
        **({"aim": asdict(asked.aim)} if asked.aim is not None else {}),
        "look": {
            "number": look.looks.number,
            "declared": look.looks.declared,
            "spent": look.looks.spent,
            "earlier": look.earlier,
            "too_late": look.too_late,
        },
    }


def _check(check: RigCheck) -> dict[str, Any]:
    return _at_utc(asdict(check))
