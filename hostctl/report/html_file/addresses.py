"""Where in the page a heading stands, so that a link leads there."""

import re
from dataclasses import dataclass, field

_RESERVED = ("enclosed", "readings", "readings-said", "one-by-one")


@dataclass(slots=True)
class Addresses:
    """Those given, in order: each with its heading and level. None is given twice."""

    given: list[tuple[str, str, int]] = field(default_factory=list)

    def of(self, text: str, level: int) -> str:
        """A new one, after the heading's own words."""
        name = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:60] or "part"
        taken = {at for at, _, _ in self.given} | set(_RESERVED)
        number = 1
        while (at := name if number == 1 else f"{name}-{number}") in taken:
            number += 1
        self.given.append((at, text, level))
        return at
