"""What the trade's words mean, for whoever meets them in a question about a machine."""

from collections.abc import Mapping

_MEANINGS: Mapping[str, str] = {
    "axis": "one direction in which the machine moves: x to the right, y to the back, z up",
    "baud": "how many bits a second go over the cable; both ends must be set to the same",
    "bed": "the plate that is printed on",
    "clip": "what holds a loose plate to the bed, and stands up above it",
    "controller": "the printer's own electronics, which carries out what it is told",
    "graduation": "the distance from one line of the dial to the next",
    "head": "what carries the nozzle, with all that is fixed to it",
    "homing": "the machine runs each axis to its end, slowly, to know where its head is",
    "indicator": "the dial indicator on the head: it shows how far its plunger is pressed in",
    "mains voltage": "what comes out of the wall socket, and kills",
    "pitch": "how far a screw moves along in one full turn",
    "plunger": "the indicator's moving rod, whose tip rests on the bed",
    "point": "a named place on the bed where the gap is set and measured, usually over a screw",
    "port": "the name under which this computer knows the socket that the printer's cable is in",
    "screw": "one of the screws that the bed stands on; turning it raises or lowers the bed there",
    "travel": "from where to where the nozzle may go along an axis",
}


def meanings(*words: str) -> Mapping[str, str]:
    """Of these words. Raises KeyError for one that is not explained."""
    return {word: _MEANINGS[word] for word in words}
