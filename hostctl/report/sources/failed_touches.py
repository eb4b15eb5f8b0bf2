"""How often a probe failed to give a height: in a study of a probe a result of its own."""

from collections.abc import Iterable

from hostctl.metrology.claims.tolerance import proportion_interval
from hostctl.store.rows import TOUCH_FAILED, NewEvent


def failed_touches(events: Iterable[NewEvent], gave_height: int) -> str | None:
    """In words; None where none failed. gave_height: touches that gave one, void ones included."""
    failed = sum(event.kind == TOUCH_FAILED for event in events)
    if not failed:
        return None
    touches = failed + gave_height
    share = proportion_interval(failed, touches, 0.95)
    return (
        f"{failed} touches of {touches} failed ({failed / touches:.1%}; 95 % interval "
        f"{share.low:.1%} to {share.high:.1%}, Clopper and Pearson) and were done again; no height "
        "of theirs is in the figures."
    )
