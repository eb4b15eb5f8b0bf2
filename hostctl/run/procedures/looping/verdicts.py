"""What is decided about a loop, as it is kept: see `run/procedures/kinds/probe_loop.py`."""

from collections.abc import Iterable, Mapping

from hostctl.run.procedures.procedure import Decision, Json
from hostctl.store.rows import LOOKED

GOES_ON, KNOWN, HELD, LONG_ENOUGH, LEFT_COLD = (
    "goes-on",
    "known",
    "held",
    "long-enough",
    "left-cold",
)


def looked(what: str, verdict: str, touches: int, **found: Json) -> Decision:
    """A decision of a loop. what: a sentence for people. touches: how many there were by then."""
    data = {"verdict": verdict, "touches": touches, **found}
    return Decision(what=what, data={"loop": data}, kind=LOOKED)


def found_in(decision: Decision) -> Mapping[str, Json]:
    """What was found, by name; empty where it is no decision of a loop."""
    found = decision.data.get("loop") if decision.kind == LOOKED else None
    return found if isinstance(found, Mapping) else {}


def left_cold(channel: str, touches: int) -> Decision:
    """Somebody said that the bed stays cold."""
    return looked(f"The bed stays cold, as was said on {channel}.", LEFT_COLD, touches)


def was_left_cold(decisions: Iterable[Decision]) -> bool:
    """Whether somebody said so in this run."""
    return any(found_in(decision).get("verdict") == LEFT_COLD for decision in decisions)
