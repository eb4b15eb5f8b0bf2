"""Trials ticked off: as few numbers as possible, since a loop may have ten thousand of them."""

from collections.abc import Collection, Iterator

Spot = tuple[int, int]  # block, trial


class Spots(Collection[Spot]):
    """A set of them. Of each block it holds one stretch of trials, and those that lie apart."""

    def __init__(self) -> None:
        self._stretches: dict[int, range] = {}
        self._apart: set[Spot] = set()

    def __contains__(self, spot: object) -> bool:
        if not isinstance(spot, tuple):
            return False
        return spot in self._apart or spot[1] in self._stretches.get(spot[0], ())

    def __iter__(self) -> Iterator[Spot]:
        for block, stretch in self._stretches.items():
            yield from ((block, trial) for trial in stretch)
        yield from self._apart

    def __len__(self) -> int:
        return len(self._apart) + sum(len(stretch) for stretch in self._stretches.values())

    def add(self, spot: Spot) -> None:
        """Tick it off."""
        block, trial = spot
        stretch = self._stretches.get(block)
        if stretch is None:
            self._stretches[block] = range(trial, trial + 1)
        elif trial == stretch.stop:
            self._stretches[block] = range(stretch.start, self._end_from(block, trial + 1))
        elif trial not in stretch:
            self._apart.add(spot)

    def discard(self, spot: Spot) -> None:
        """It is to be done after all."""
        block, trial = spot
        self._apart.discard(spot)
        stretch = self._stretches.get(block, range(0))
        if trial in stretch:
            self._apart.update((block, after) for after in range(trial + 1, stretch.stop))
            self._stretches[block] = range(stretch.start, trial)

    def clear(self) -> None:
        """Nothing is ticked off any more."""
        self._stretches.clear()
        self._apart.clear()

    def blocks(self) -> set[int]:
        """Of which something is ticked off."""
        return {block for block, stretch in self._stretches.items() if stretch} | {
            block for block, _ in self._apart
        }

    def of(self, block: int) -> list[Spot]:
        """Those of one block, in order."""
        stretch = self._stretches.get(block, range(0))
        apart = (spot for spot in self._apart if spot[0] == block)
        return sorted([*((block, trial) for trial in stretch), *apart])

    def count(self, block: int) -> int:
        """How many of a block are ticked off."""
        apart = sum(1 for of, _ in self._apart if of == block)
        return len(self._stretches.get(block, ())) + apart

    def seen(self) -> "SpotsSeen":
        """For whoever may look and not tick off."""
        return SpotsSeen(self)

    def _end_from(self, block: int, trial: int) -> int:
        """Where a stretch ends that reaches up to `trial`, with what lay apart behind it."""
        while (block, trial) in self._apart:
            self._apart.remove((block, trial))
            trial += 1
        return trial


class SpotsSeen(Collection[Spot]):
    """Those ticked off, as they are now and will be; they can't be changed by it."""

    def __init__(self, spots: Spots) -> None:
        self.__spots = spots

    def __contains__(self, spot: object) -> bool:
        return spot in self.__spots

    def __iter__(self) -> Iterator[Spot]:
        return iter(self.__spots)

    def __len__(self) -> int:
        return len(self.__spots)

    def count(self, block: int) -> int:
        """How many of a block are ticked off."""
        return self.__spots.count(block)
