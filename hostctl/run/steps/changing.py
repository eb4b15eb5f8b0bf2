"""Another person, or another method: who sets from here is said before anything of theirs."""

from hostctl.config.study import Order, Study
from hostctl.config.study_kind import words_of
from hostctl.machine.machine import Machine
from hostctl.records import TIE_METHOD, Place
from hostctl.run import wording
from hostctl.run.asking import Asking


class Changing:
    """Who sets, and how, in one sitting; after a hold they are the same, after a stop nobody is."""

    def __init__(self, study: Study, machine: Machine, asking: Asking) -> None:
        hands = max(1, len(study.operators)) * max(1, len(study.methods))
        self._changes = words_of(study.kind).people_set and hands > 1
        self._mixed = study.order is Order.MIXED
        self._study = study
        self._machine = machine
        self._asking = asking
        self._hands: tuple[str, str] | None = None

    async def to(self, place: Place) -> None:
        """Ask whoever sets at `place` to come, where that is another than before, the head up.

        In mixed order nearly every trial is another's: the first question of each says whose it is,
        and nothing more is asked. Raises what breaks into it.
        """
        hands = place.operator, place.method
        if not self._changes or place.method == TIE_METHOD or hands == self._hands:
            return
        if self._mixed:
            self._asking.say_whose()
        else:
            await self._asking.go_on("The head lifts.")
            await self._machine.lift()
            await self._asking.ask(wording.change_hands(self._study, place), place)
        self._hands = hands
