"""What is known so far, kept on the disk with each thing more."""

from collections.abc import Callable, Mapping

from hostctl.begin.facts import Facts
from hostctl.drafts.question import Value


class Notes:
    """The facts of one machine being begun."""

    def __init__(self, facts: Facts, keep: Callable[[Facts], None]) -> None:
        """keep: puts all of them on the disk. Raises StoreError when it can't."""
        self.facts = facts
        self.taken_back: dict[str, Value] = {}
        """What was answered to questions that are asked again, by key."""
        self._keep = keep

    def know(self, more: Mapping[str, Value]) -> None:
        """These are known from now on. Raises StoreError when they can't be kept."""
        self._now(self.facts.knowing(more))

    def forget(self, *beginnings: str) -> None:
        """Whatever's key begins like one of these is not known any more."""
        kept = {key: value for key, value in self.facts.items() if not key.startswith(beginnings)}
        self._now(Facts(kept))

    def take_back(self, key: str) -> None:
        """The answer under this key is to be given anew."""
        self.taken_back[key] = self.facts[key]
        self._now(Facts({each: value for each, value in self.facts.items() if each != key}))

    def _now(self, facts: Facts) -> None:
        self._keep(facts)
        self.facts = facts
