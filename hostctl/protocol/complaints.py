"""What an error line means: only the order is refused, the board has stopped, or heat is amiss.

Firmwares word the same things in many ways, so this reads for words, liberally. Where it errs it
should err towards the graver: a needless hold costs a homing, a thermal fault unheard a fire. The
words are from general knowledge of the trade; no source lists them all.
"""

import re
from enum import Enum


class Gravity(Enum):
    """How bad it is."""

    REFUSAL = "refusal"
    """One order was not carried out, or something is merely said; the board goes on."""
    STOPPED = "stopped"
    """The board obeys nothing until a person resets it."""
    THERMAL = "thermal"
    """A heater or its sensor can't be trusted, or the board stopped itself for that: it obeys
    nothing any more, though it may acknowledge."""


_PART = r"(?<![a-z])(?:heat(?:er|ers|ing|break)|hot ?end|temp(?:erature)?s?|adc)(?![a-z])"
_AMISS = (
    r"(?:fail|fault|error|malfunction|out of range|too (?:hot|low|high|fast|slow)|exceed|fell|drop"
    r"|lost|short|open circuit|disconnect|decoupled|not (?:heating|respond|reach)|switched off"
    r"|timed? ?out|shut ?down|stopped|unreliable|invalid)"
)
_THERMAL = re.compile(
    r"thermal|runaway|thermistor|thermocouple|\b(?:min|max)[ _-]?temp|over[ -]?(?:heat|temp)"
    rf"|{_PART}.*\b{_AMISS}|\b{_AMISS}.*{_PART}"
    r"|stopped due to",  # a board that stops itself without more words does so for its heat
    re.IGNORECASE,
)
_ASKED_FOR = re.compile(r"\brequested\b|target refused", re.IGNORECASE)
"""Words of an order that asked for too much heat: nothing is amiss."""
_STOPPED = re.compile(
    r"\bhalt|\bkill|emergency|shut ?down|\bM999\b"
    r"|(?:printer|system|machine|board) (?:is |has )?stop"
    r"|(?:must be |needs? (?:a |to be )?|until .*)reset|until .*restart",
    re.IGNORECASE,
)
_REFUSAL = re.compile(
    r"prob|touch|trigger|\bhom(?:e|ed|ing)\b|\bmove|out of (?:range|bounds|reach)|outside|travel"
    r"|extru|unknown|not (?:understood|supported|recogni[sz]ed)"
    r"|malformed|parameter|refused",
    re.IGNORECASE,
)
_THERMAL_ANYWHERE = re.compile(
    r"thermal runaway|heating failed|\bM(?:IN|AX)TEMP\b|stopped due to errors", re.IGNORECASE
)


def gravity_of(text: str, *, marked: bool = False) -> Gravity:
    """How bad the error in these words is.

    marked: it came as `!!`, which is grave unless its words are about an order.
    """
    if _THERMAL.search(text) and not _ASKED_FOR.search(text):
        return Gravity.THERMAL
    if _STOPPED.search(text) or (marked and not _REFUSAL.search(text)):
        return Gravity.STOPPED
    return Gravity.REFUSAL


def is_thermal_alarm(text: str) -> bool:
    """Whether a line that is not marked as an error tells of a thermal fault all the same."""
    return _THERMAL_ANYWHERE.search(text) is not None
