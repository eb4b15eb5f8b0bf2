"""What every part of a file is made of: frozen, strict, and told key by key in the reference.

A string below a key says what the key means. Type, range and what is taken when it is left out are
read off the model; its unit off the end of its name. `Told` adds what these don't say.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetJsonSchemaHandler
from pydantic_core import CoreSchema


@dataclass(frozen=True, slots=True)
class Told:
    """For people, who read it in the reference: nothing is checked by it."""

    unit: str | None = None
    allowed: str | None = None
    left_out: str | None = None

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        told = {"unit": self.unit, "allowed": self.allowed, "left_out": self.left_out}
        return {**handler(core), **{f"x-{what}": words for what, words in told.items() if words}}


NAME_WORDS = "lower-case letters, digits and hyphens, at most 40"

Mm = Annotated[float, Field(allow_inf_nan=False)]
PositiveMm = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Name = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$"), Told(allowed=NAME_WORDS)]


class Checked(BaseModel):
    """What every part of a file is: frozen, nothing unknown in it, no silent conversions."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Misplaced(ValueError):
    """A mistake of one key that only shows beside others. at: the way from the section to it.

    next_step: what to do about it; empty where that is plain.
    """

    def __init__(self, what: str, *at: str | int, next_step: str = "") -> None:
        super().__init__(what)
        self.at = at
        self.next_step = next_step


def named_twice(names: Iterable[str]) -> Iterator[tuple[int, str]]:
    """Each name that was there before, with its place in the list."""
    seen: set[str] = set()
    for index, name in enumerate(names):
        if name in seen:
            yield index, name
        seen.add(name)


OLD_NAMES: dict[tuple[str, ...], str] = {
    ("cycle", "disturb"): "turn_away",
    ("warm_up_cycles",): "dry_cycles",
}
"""Where a key that was renamed stood, and its name now: older files, and those kept with older
runs, are still read. The models take both; `hostctl check` says so."""
