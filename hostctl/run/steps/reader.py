"""A gauge, and how its readings are taken."""

from dataclasses import dataclass

from hostctl.gauges.gauge import Gauge
from hostctl.run.steps.taking import Taking


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """One of a study's gauges. instrument: what it is in a person's words."""

    gauge: Gauge
    taking: Taking
    instrument: str
