"""A kind of study, as far as a study file and a report need to know it.

It is one plug-in with the procedure by which such a study is run (`run/procedures`), seen from
below: what its files must have, and what to call what was read. Little is loaded for that.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar

from hostctl.errors import PluginError
from hostctl.plugins import Kind

StudyFile = TypeVar("StudyFile", contravariant=True)
"""`hostctl.config.study.Study`, which knows of kinds and so can't be imported here."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KindWords:
    """What is said of a kind of study, and what its readings are, wherever they are read about.

    about: a sentence for the reference. nobody_sets: what to call what is read where nobody sets a
    gap, as "the probe"; empty: people set it. readings: how a sentence about them begins there, as
    "Touches of the probe".
    asks_nobody: whether no hands are asked for between the first answer and the end.
    checks_rig: whether it finds what the rig alone adds, so that other runs are judged by it.
    judges_zero: whether its datum's zero is itself what is judged, so that no mean is an error.
    makes_ties: whether it ties the indicator to the nozzle, so that reference `gap` goes with it.
    turns_screws: whether hands turn screws in it, though no gap is set.
    takes_zeros: whether blocks may begin with a zero; where none do, readings of a block are held
    against each other, so that one which homing broke into begins again.
    keeps_few: whether its procedure is told of each reading and keeps what it needs, so that a run
    of ten thousand takes no more memory than one of ten.
    """

    about: str
    nobody_sets: str = ""
    readings: str = ""
    asks_nobody: bool = False
    checks_rig: bool = False
    judges_zero: bool = False
    makes_ties: bool = False
    turns_screws: bool = False
    takes_zeros: bool = True
    keeps_few: bool = False

    @property
    def people_set(self) -> bool:
        """Whether hands set a gap in it."""
        return not self.nobody_sets


SHIPPED: Mapping[str, KindWords] = {
    "comparison": KindWords(
        about="Operators set the gap, by one method or several.", makes_ties=True
    ),
    "rig-check": KindWords(
        about="The cycle repeated with nothing adjusted: what the rig alone scatters.",
        nobody_sets="nothing adjusted",
        readings="Readings with nothing adjusted",
        checks_rig=True,
    ),
    "probe-loop": KindWords(
        about="The machine's own probe; nobody is asked between.",
        nobody_sets="the probe",
        readings="Touches of the probe",
        asks_nobody=True,
        judges_zero=True,
        keeps_few=True,
    ),
    "tie": KindWords(
        about="Only the tie that joins indicator and nozzle, again and again: how it scatters.",
        nobody_sets="the tie",
        readings="Readings of the tie",
        makes_ties=True,
    ),
    "level": KindWords(
        about="The bed is measured, screws are turned as advised, and it is measured again.",
        nobody_sets="the bed",
        readings="Heights of the bed",
        judges_zero=True,
        turns_screws=True,
        takes_zeros=False,
    ),
    "axis-test": KindWords(
        about="Z is sent to heights again and again, from both sides (ISO 230-2).",
        nobody_sets="the axis",
        readings="Heights of the axis",
        judges_zero=True,
        takes_zeros=False,
    ),
    "gauge-comparison": KindWords(
        about="Two gauges read the same place in turn: how far they differ.",
        nobody_sets="the gauges",
        readings="Readings of the gauges",
        judges_zero=True,
        takes_zeros=False,
    ),
}
"""The words of our own kinds, which their classes take from here: whoever looks at readings need
not look for plug-ins, which takes as long as the rest. A stranger's kind has them in its class."""


class StudyKind(Protocol[StudyFile]):
    """A kind of study."""

    @property
    def words(self) -> KindWords:
        """What is said of it."""
        ...

    def check(self, study: StudyFile) -> None:
        """Raises Misplaced where the study file lacks what this kind needs, or has too much."""
        ...


STUDY_KINDS: Kind[StudyKind[Any]] = Kind("hostctl.study_kinds")


def words_of(kind: str) -> KindWords:
    """What is said of a kind on record; empty: of a file, whose readings are of hands.

    A kind that is not installed is shown all the same. Nothing is taken for granted of its readings
    then: they are judged as they are, no rig taken out, no mean taken for an error.
    """
    if not kind:
        return KindWords(about="Readings from a file.")
    if kind in SHIPPED:
        return SHIPPED[kind]
    try:
        return STUDY_KINDS.find(kind).words
    except PluginError:
        called = f"{kind} (not installed)"
        return KindWords(
            about="A kind that is not installed.",
            nobody_sets=called,
            readings=f"Readings of {called}",
            judges_zero=True,
        )
