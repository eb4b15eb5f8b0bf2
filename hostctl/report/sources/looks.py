"""Which look at these readings a verdict will be, from what is on record of their runs.

Looks are counted on readings, whatever is claimed of them: every tolerance and share is judged by
the same limits, so that to ask several of the same readings costs nothing. Several runs taken
together have had the looks of each, and what is left of the risk is what is left of the run that
has least. Each run begins with a risk of its own.

A declaration holds from the first look on. Made later it could be made to suit what was seen.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from hostctl.errors import StoreError
from hostctl.metrology.claims.looks import FIRST_LOOK, Looks

if TYPE_CHECKING:
    from hostctl.store.looks import KeptLook, Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Looking:
    """A look about to be taken.

    earlier: how many others are on record of these runs; None where none are kept, as of a file.
    again: whether it is on record already.  too_late: how many looks in all somebody declares only
    now; None where nobody does.
    """

    looks: Looks = FIRST_LOOK
    earlier: int | None = None
    again: bool = False
    too_late: int | None = None


UNRECORDED = Looking()
"""The first look at readings of which no record is kept."""


def look_at(path: Path | None, seen: "Sequence[Seen]", declared: int | None) -> Looking:
    """The look at runs as they stand; of files alone, where nothing is `seen`, as declared.

    Raises StoreError.
    """
    if path is None or not seen:
        return Looking(looks=Looks(declared=declared))
    from hostctl.store.looks import read_looks  # a file needs no store

    kept = read_looks(path, [one.run for one in seen])
    others = {look.seen: look for looks in kept.values() for look in looks}
    this = others.pop(frozenset(seen), None)
    looks = _as_kept(this) if this else _new(list(others.values()), kept.values(), declared)
    return Looking(
        looks=looks,
        earlier=len(others),
        again=this is not None,
        too_late=declared if declared != looks.declared else None,
    )


def keep(path: Path | None, seen: "Sequence[Seen]", looking: Looking, at: datetime) -> str | None:
    """Record that it was taken, where it is not on record yet. Why it can't be; None: it is."""
    if path is None or looking.again or not seen:
        return None
    from hostctl.store.looks import KeptLook, keep_look

    looks = looking.looks
    look = KeptLook(
        seen=frozenset(seen),
        number=looks.number,
        declared=looks.declared,
        spent=looks.spent,
        share=looks.share,
    )
    try:
        keep_look(path, look, at)
    except StoreError as cannot:
        return f"{cannot.where}: {cannot.what}"
    return None


def _as_kept(look: "KeptLook") -> Looks:
    return Looks(number=look.number, declared=look.declared, spent=look.spent)


def _new(
    earlier: "Sequence[KeptLook]",
    by_run: "Collection[Sequence[KeptLook]]",
    declared: int | None,
) -> Looks:
    if not earlier:
        return Looks(declared=declared)
    agreed = {look.declared for look in earlier}
    return Looks(
        number=1 + len(earlier),
        declared=agreed.pop() if len(agreed) == 1 else None,
        spent=max(sum(look.share for look in looks) for looks in by_run),
    )
