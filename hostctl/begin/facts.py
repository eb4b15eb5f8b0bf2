"""What is known of a machine so far, by key, in the order in which it came to be known.

Answers (`travel.x.to_mm`), what the person saw to (`seen.bare_homing`) and what was measured
(`found.reading_z_mm`) alike: all of it is JSON, so that it can be kept after each answer and taken
up again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from hostctl.drafts.question import Value


@dataclass(frozen=True, slots=True)
class Facts(Mapping[str, Value]):
    """Never changed: each fact more makes new ones."""

    known: Mapping[str, Value] = field(default_factory=dict)

    def __getitem__(self, key: str) -> Value:
        return self.known[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.known)

    def __len__(self) -> int:
        return len(self.known)

    def knowing(self, more: Mapping[str, Value]) -> "Facts":
        """With more; what was known under the same key is known anew, and last."""
        kept = {key: value for key, value in self.known.items() if key not in more}
        return Facts({**kept, **more})

    def number(self, key: str) -> float:
        """A number. Raises KeyError where it is not known."""
        value = self.known[key]
        if not isinstance(value, int | float):
            raise KeyError(key)
        return float(value)

    def text(self, key: str) -> str:
        """A word or a text. Raises KeyError where it is not known."""
        value = self.known[key]
        if not isinstance(value, str):
            raise KeyError(key)
        return value
