"""What the trade's words mean, for whoever meets them in a question."""

from collections.abc import Mapping

_MEANINGS: Mapping[str, str] = {
    "setting": "the gap set once, from turning the screw away to saying that it is right",
    "spread": "how widely settings of the same gap scatter: their standard deviation",
    "true gap": "the distance between nozzle and bed itself, not only how it changes",
    "tie": "a measurement that joins the indicator to the nozzle, so that each reading is a gap",
    "tolerance": "how far off a setting may be and still be good enough, plus or minus",
    "graduation": "the distance from one line of the dial to the next",
    "method": "a way of telling that the gap is right, as a paper slip or a feeler gauge",
    "pseudonym": "a name that stands for a person and does not tell who it is",
    "point": "a named place on the bed, usually over a screw; the machine file lists them",
    "block": "the settings of one method, in one pair of hands, at one point",
    "rig": "machine, indicator and mount together, with nobody setting anything",
    "feeler gauge": "thin metal leaves of known thickness, one of which is slid under the nozzle",
    "contact light": "a lamp with its own battery that comes on as the nozzle touches bare metal",
    "on target": "a method whose mean gap is shown to be no further off than was asked",
    "gauge block": "a hard block whose height is known to a micrometre or so",
    "limit of error": "as far off as the maker lets it be, plus or minus; on its certificate",
}


def meanings(*words: str) -> Mapping[str, str]:
    """Of these words. Raises KeyError for one that is not explained."""
    return {word: _MEANINGS[word] for word in words}
