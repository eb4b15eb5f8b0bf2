"""Instants as the database keeps them: text, UTC, ISO 8601 with milliseconds."""

from datetime import UTC, datetime


def utc_text(at: datetime) -> str:
    """`at` as 2031-05-06T07:08:09.012Z. Raises ValueError when it has no time zone."""
    if at.tzinfo is None:
        raise ValueError(f"{at} has no time zone, so it is no instant")
    in_utc = at if at.tzinfo is UTC else at.astimezone(UTC)
    return in_utc.isoformat(timespec="milliseconds")[:-6] + "Z"


def instant(text: str) -> datetime:
    """The instant that `utc_text` wrote."""
    return datetime.fromisoformat(text)
