"""Proof that a contact tells: open, closed, open, as a hand joins and parts the leads. Pure.

Before each descent and after it, so that one which is stuck, or has come off, is found out.
"""

from dataclasses import dataclass

from hostctl.errors import MachineError

OPEN_CLOSED_OPEN = (False, True, False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Joining:
    """How far the proof has come. `seen`: what was wanted and came, in order."""

    where: str
    seen: int = 0

    @property
    def wants_closed(self) -> bool | None:
        """What must be seen next: closed or open; None: it is proven."""
        return None if self.proven else OPEN_CLOSED_OPEN[self.seen]

    @property
    def proven(self) -> bool:
        """Whether it was seen open, closed and open again."""
        return self.seen == len(OPEN_CLOSED_OPEN)

    @property
    def is_last(self) -> bool:
        """Whether what is to be seen next completes it."""
        return self.seen == len(OPEN_CLOSED_OPEN) - 1

    def saw(self, *, closed: bool) -> "Joining":
        """After one look. A hand may take its time: what was there before changes nothing.

        Raises MachineError where it is closed before anybody joined the leads.
        """
        if self.proven:
            return self
        if self.seen == 0 and closed:
            raise MachineError(
                self.where,
                "it tells of contact before the leads are joined",
                "Look for leads that touch, and for a contact that is stuck; then begin anew.",
            )
        came = closed == OPEN_CLOSED_OPEN[self.seen]
        return Joining(where=self.where, seen=self.seen + came)
