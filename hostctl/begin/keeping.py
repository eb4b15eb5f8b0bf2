"""What is known of machines being begun, kept after each answer: one file each, whole or not there.

They lie in `begun`, beside the default database. What can't be read is left as it is, for a person
to look at; nothing is written over it.
"""

import json
import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from hostctl.begin.facts import Facts
from hostctl.begin.on_disk import NEW, put_anew
from hostctl.drafts.question import Value
from hostctl.drafts.study.answers import is_name
from hostctl.errors import StoreError
from hostctl.store.file.location import database_path

VERSION = 1
"""Of what a file holds; raised where an older `hostctl` would misread it."""
MOST_BYTES = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A machine that was begun."""

    name: str
    facts: Facts
    kept_at: datetime
    """When the last answer was kept, with its time zone."""

    @property
    def how_far(self) -> str:
        """`34 things known, the last: points.over_screws`."""
        last = next(reversed(list(self.facts)), "nothing")
        return f"{len(self.facts)} things known, the last: {last}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable:
    """A file that is none of ours any more, or not yet: why, and what to do."""

    name: str
    trouble: str


def folder() -> Path:
    """Where they are."""
    return database_path().parent / "begun"


def keep(facts: Facts, now: datetime, was: str | None = None) -> None:
    """On the disk when it returns. Before the machine has a name there is nothing to keep.

    was: the name they were kept under before; where the machine has another now, that file goes.
    now: with its time zone. Raises StoreError: what was kept before is still there then.
    """
    name = facts.get("machine")
    if name is None:
        return
    path = _path(str(name))
    _refuse_to_bury(path)
    held = {"version": VERSION, "kept_at": now.isoformat(), "facts": dict(facts)}
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        put_anew(path, json.dumps(held, allow_nan=False, indent=1).encode())
    except OSError as cause:
        what = f"this answer can't be kept ({(cause.strerror or str(cause)).lower()})"
        next_step = "See to that; the answers before it are kept, and are taken up again."
        raise StoreError(str(path), what, next_step) from cause
    if was is not None and was != name:
        forget(was)


def kept(name: str) -> Begun | None:
    """What is known of the machine; None: nothing is kept. Raises StoreError."""
    path = _path(name)
    try:
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        return None
    except OSError as cause:
        what = f"can't be read ({(cause.strerror or str(cause)).lower()})"
        raise StoreError(str(path), what, "Check the file and its permissions.") from cause
    try:
        return _taken(name, path, data)
    except (ValueError, TypeError, KeyError, RecursionError) as cause:
        what = "is damaged: it is not as hostctl writes it"
        next_step = f"It is left as it is. Mend it, or move it away and begin '{name}' anew."
        raise StoreError(str(path), what, next_step) from cause


def all_kept() -> list[Begun | Unreadable]:
    """Each machine that was begun, the one of the last answer first; those not understood last."""
    readable: list[Begun] = []
    others: list[Unreadable] = []
    for name in _names():
        try:
            if (begun := kept(name)) is not None:
                readable.append(begun)
        except StoreError as trouble:
            others.append(Unreadable(name=name, trouble=str(trouble)))
    readable.sort(key=lambda begun: begun.kept_at, reverse=True)
    return [*readable, *others]


def forget(name: str) -> None:
    """Nothing is kept of the machine any more: its file is made, or it is begun anew.

    Raises StoreError.
    """
    path = _path(name)
    try:
        path.unlink(missing_ok=True)
    except OSError as cause:
        what = f"can't be taken away ({(cause.strerror or str(cause)).lower()})"
        raise StoreError(str(path), what, "Check the folder's permissions.") from cause
    for left_behind in path.parent.glob(f".{path.name}.*{NEW}"):
        with suppress(OSError):
            left_behind.unlink()


def _path(name: str) -> Path:
    if not is_name(name):
        raise StoreError(name, "is no machine's name", "Give the name it was begun under.")
    return folder() / f"{name}.json"


def _names() -> Iterator[str]:
    try:
        found = sorted(path.stem for path in folder().glob("*.json"))
    except OSError as cause:
        what = f"can't be looked into ({cause.strerror or cause})"
        raise StoreError(str(folder()), what, "Check its permissions.") from cause
    return (name for name in found if is_name(name))


def _refuse_to_bury(path: Path) -> None:
    """Raises StoreError where a file lies there that is not understood."""
    kept(path.stem)


def _taken(name: str, path: Path, data: bytes) -> Begun:
    """Raises StoreError of a newer file; ValueError, TypeError, KeyError of a damaged one."""
    if len(data) > MOST_BYTES:
        raise ValueError("too long")
    held = json.loads(data, parse_constant=_refuse_constant)
    if isinstance(held["version"], int) and held["version"] > VERSION:
        what = f"was kept by a newer hostctl (version {held['version']}, known here: {VERSION})"
        raise StoreError(str(path), what, "It is left as it is: go on with that hostctl.")
    facts = Facts(dict(_facts(held["facts"])))
    kept_at = datetime.fromisoformat(held["kept_at"])
    if held["version"] != VERSION or facts["machine"] != name or kept_at.tzinfo is None:
        raise ValueError("not as it was written")
    return Begun(name=name, facts=facts, kept_at=kept_at)


def _facts(held: Mapping[str, object]) -> Iterator[tuple[str, Value]]:
    for key, value in held.items():
        if not (value is None or isinstance(value, str | int | float)):
            raise TypeError(key)
        if isinstance(value, float) and not math.isfinite(value):
            raise ValueError(key)
        yield key, value


def _refuse_constant(word: str) -> float:
    raise ValueError(word)
