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
    "baud": "how many bits a second go over the cable; both ends must be set to the same",
    "bed": "the plate that is printed on",
    "clip": "what holds a loose plate to the bed, and stands up above it",
    "head": "what carries the nozzle, with all that is fixed to it",
    "homing": "the machine runs each axis to its end, slowly, to know where its head is",
    "indicator": "the dial indicator on the head: it shows how far its plunger is pressed in",
    "mains voltage": "what comes out of the wall socket, and kills",
    "pitch": "how far a screw moves along in one full turn",
    "plunger": "the indicator's moving rod, whose tip rests on the bed",
    "port": "the name under which this computer knows the socket that the printer's cable is in",
    "screw": "one of the screws that the bed stands on; turning it raises or lowers the bed there",
    "travel": "from where to where the nozzle may go",
    "x": "how far to the right the nozzle is over the bed, as the machine counts it",
    "y": "how far to the back the nozzle is over the bed, as the machine counts it",
    "z": "how high the nozzle is, as the machine counts it: 0 where it meets the bed",
}


def meanings(*words: str) -> Mapping[str, str]:
    """Of these words. Raises KeyError for one that is not explained."""
    return {word: _MEANINGS[word] for word in words}
