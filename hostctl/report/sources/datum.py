"""What the zero of a recorded run's readings is worth."""

from hostctl.config.study_kind import words_of
from hostctl.store.rows import NewRun


def has_own_zeros(new: NewRun, *, zeros_read: bool) -> bool:
    """Whether its datum lay on the bed that is being set (see Material.own_zeros).

    zeros_read: whether any reading is a block's zero; a probe has its own and reads none.
    """
    return new.reference == "datum" and words_of(new.kind).people_set and zeros_read


def is_zero_known(new: NewRun, *, zeros_read: bool) -> bool:
    """Whether bias counts: a datum says where zero is, but a probe's own is what a loop judges."""
    counts = new.reference == "datum" and not words_of(new.kind).judges_zero
    return counts and not has_own_zeros(new, zeros_read=zeros_read)
