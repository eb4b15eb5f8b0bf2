"""Where the output knows no UTF-8: each sign it can't carry becomes the nearest plain one."""

import codecs
from io import BytesIO, TextIOWrapper

from hostctl.report.document.plain_ascii import fit_for

HANDLER = "hostctl.nearest"
_ASCII = TextIOWrapper(BytesIO(), encoding="ascii")


def make_plain(stream: TextIOWrapper, encoding: str | None = None) -> None:
    """From now on nothing printed there can fail for want of a sign. encoding: None for its own."""
    codecs.register_error(HANDLER, _nearest)
    stream.reconfigure(encoding=encoding, errors=HANDLER)


def _nearest(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return fit_for(_ASCII, error.object[error.start : error.end]), error.end
