"""The data found in a page, or in the file that it names, and held against their hash.

A page is only searched for what `writing` puts into it; nothing of it is run. What doesn't look
like that is no report.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from html import unescape
from pathlib import Path

from hostctl.errors import DataError
from hostctl.report.enclosed.writing import NO_HASH

MOST_PAGE_BYTES = 64 * 2**20
MOST_DATA_BYTES = 128 * 2**20
"""Of a file beside the page."""

_ASK_AGAIN = "Ask whoever made it for the file again."
_META = re.compile(rb'<meta name="(data-sha256|file-sha256|data-file)" content="([^"<>]{0,300})"')
_SCRIPT = re.compile(rb'<script type="application/json" id="enclosed">')
_CHANGED = (
    "The page is not as it was made: its text doesn't match its hash. The data in it match theirs, "
    "and everything here is reckoned from them. A check against accident, no signature."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The data as JSON text. remarks: what is to be said of the page."""

    json_text: bytes
    remarks: tuple[str, ...]


def data_in(path: Path) -> Found:
    """The data of a report. Raises DataError where there are none, or they were changed."""
    page = bounded(path, MOST_PAGE_BYTES)
    metas = {match[1].decode(): match for match in _once(path, page)}
    if "data-sha256" not in metas:
        what = "is no report of hostctl's: it names no hash of its data"
        raise DataError(str(path), what, "Give a report, a CSV file or a run.")
    named = metas.get("data-file")
    where, json_text = (path, _in_script(path, page)) if named is None else _beside(path, named[2])
    if sha256(json_text).hexdigest().encode() != metas["data-sha256"][2]:
        what = "its data don't match the hash in the page: they were changed or damaged"
        raise DataError(str(where), what, _ASK_AGAIN)
    unchanged = _is_as_made(page, metas.get("file-sha256"))
    return Found(json_text=json_text, remarks=() if unchanged else (_CHANGED,))


def bounded(path: Path, most_bytes: int) -> bytes:
    """The file's bytes. Raises DataError where it can't be read, or is larger than that."""
    try:
        if not path.is_file():
            raise DataError(str(path), "there is no such file", "Check its name.")
        with path.open("rb") as file:
            found = file.read(most_bytes + 1)
    except OSError as cause:
        what = f"can't be read ({cause.strerror or cause})"
        raise DataError(str(path), what, "Check the file.") from cause
    if len(found) > most_bytes:
        what = f"is larger than the {most_bytes >> 20} MiB of a report"
        raise DataError(str(path), what, "Give a report that hostctl wrote.")
    return found


def _once(path: Path, page: bytes) -> Iterator[re.Match[bytes]]:
    seen = set()
    for match in _META.finditer(page):
        if match[1] in seen:
            what = f"names its {match[1].decode()} twice"
            raise DataError(str(path), what, _ASK_AGAIN)
        seen.add(match[1])
        yield match


def _in_script(path: Path, page: bytes) -> bytes:
    starts = [match.end() for match in _SCRIPT.finditer(page)]
    if len(starts) != 1:
        what = "holds no data" if not starts else "holds its data twice"
        raise DataError(str(path), what, _ASK_AGAIN)
    end = page.find(b"<", starts[0])
    if end < 0:
        raise DataError(str(path), "breaks off within its data", _ASK_AGAIN)
    return page[starts[0] : end]


def _beside(path: Path, called: bytes) -> tuple[Path, bytes]:
    """The data file in the folder of the page, whatever else the page would have us open."""
    name = unescape(called.decode(errors="replace"))
    is_plain = name.endswith(".data.json") and name.isprintable() and not set(name) & set("/\\:")
    if not is_plain:
        what = f"names '{name[:80]!a}' as its data, which is no plain name of a data file"
        raise DataError(str(path), what, _ASK_AGAIN)
    beside = path.parent / name
    if not beside.is_file():
        what = f"its data lie in a file of their own, {name}, which is not beside it"
        raise DataError(str(path), what, "Put both into one folder.")
    return beside, bounded(beside, MOST_DATA_BYTES)


def _is_as_made(page: bytes, file_hash: re.Match[bytes] | None) -> bool:
    if file_hash is None:
        return False
    first, last = file_hash.span(2)
    digits = sha256(page[:first])
    digits.update(NO_HASH.encode())
    digits.update(memoryview(page)[last:])
    return digits.hexdigest().encode() == file_hash[2]
