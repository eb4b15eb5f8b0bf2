"""The touch: the nozzle comes down on a plate, a step at a time, until there is contact.

Nothing is stepped without an answer or a look got where the nozzle stands; contact is proven by
hand before and after; whatever is odd about it takes the head up, and what was observed of the tie
at that point is void.
"""

from hostctl.choices import BEYOND, LIT, PULLED
from hostctl.config.machine import Point
from hostctl.config.parts.tie import Tie
from hostctl.errors import MachineError
from hostctl.gauges.contact import Contact
from hostctl.gauges.joining import Joining
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.descent.descent import Descent, NoContact
from hostctl.machine.machine import Machine
from hostctl.machine.permit import MotionForbidden
from hostctl.news import Answer
from hostctl.records import Place
from hostctl.run.asking import Asking
from hostctl.run.holds.breaks import TieRefused
from hostctl.run.record.journal import Journal
from hostctl.run.steps.ties import tie_words
from hostctl.run.steps.ties.blades import Blades
from hostctl.run.steps.ties.tie_fault import TieFault
from hostctl.run.wording import Words
from hostctl.store.rows import TIE_REFUSED

TRY_ABOVE_MM = 0.5
"""So far above where the plate should be the nozzle stands while blades are tried."""
MOST_LOOKS = 6
"""A hand that joins and parts the leads is looked at so often; then it is no proof."""


class Touching:
    """Touches on one machine."""

    def __init__(
        self,
        *,
        tie: Tie,
        machine: Machine,
        asking: Asking,
        journal: Journal,
        contact: Contact | None,
    ) -> None:
        """contact: what tells of it by itself; None: a person looks at a lamp."""
        self._tie = tie
        self._machine = machine
        self._asking = asking
        self._journal = journal
        self._contact = contact
        self._blades = Blades(machine, asking)
        self._is_low = False
        self.unwired()

    def unwired(self) -> None:
        """The leads are out, and what goes with them."""
        self._is_wired = False
        self.forget()

    def forget(self) -> None:
        """What was laid, measured and proven may have been changed."""
        self._laid_at = ""
        self._is_proven = False
        self._bracket: Bracket | None = None

    async def touch(self, place: Place, point: Point) -> tuple[float, float]:
        """The lowest height without contact and the first with it, mm; the head is up again.

        Raises TieFault where contact is not to be trusted, TieRefused, the operator's words, and
        what a move raises.
        """
        if self._laid_at != point.name:
            await self._lay(place, point)
        if not self._is_proven:
            await self._rise()
            await self._prove(place, f"The head lowers over the plate at {point.name}.")
        self._is_proven = False  # it is good for one touch, and whatever breaks into that spends it
        descent = await self._come_near(place, point)
        try:
            between = await self._until_contact(descent, place)
            self._is_low = False
            await self._prove(place, "The head brings the indicator over the same place.")
        except MotionForbidden:
            raise  # somebody stopped it: nothing more moves
        except MachineError as fault:
            await self._give_up(descent)
            raise TieFault.of(fault, place) from fault
        return between

    # ------------------------------------------------------------ before it

    async def _lay(self, place: Place, point: Point) -> None:
        """Plate and leads, measured, and seen to hang slack."""
        self.forget()
        await self._asking.go_on(f"The head lifts and goes over {point.name}.")
        await self._over(point)
        if not self._is_wired:
            await self._asking.ask(tie_words.wire_contact(self._tie), place)
            self._is_wired = True
        await self._asking.ask(tie_words.lay_plate(self._tie, point.name), place)
        answer, _ = await self._asking.ask(tie_words.meter_leads(), place)
        if answer.choice == BEYOND:
            await self._refuse(answer)
        await self._join_lamp(place)
        await self._pass_slowly(place, point)
        self._laid_at = point.name

    async def _refuse(self, answer: Answer) -> None:
        why = (
            f"the meter showed {tie_words.MOST_V:g} V or more, or {tie_words.LEAST_KOHM} kΩ or "
            "less, between nozzle and plate"
        )
        await self._journal.note(TIE_REFUSED, why)
        raise TieRefused(answer, why)

    async def _join_lamp(self, place: Place) -> None:
        """So that it hangs on the leads when their slack is shown. It must not tell of contact."""
        closed = await self._told(tie_words.join_lamp(by_eye=self._contact is None), place)
        Joining(where=f"the tie at {place.point}").saw(closed=closed)

    async def _pass_slowly(self, place: Place, point: Point) -> None:
        tip = self._machine.config.indicator
        away_x_mm, away_y_mm = (tip.offset_x_mm, tip.offset_y_mm) if tip else (0.0, 0.0)
        await self._asking.before_motion("The head goes slowly away and back: watch the leads.")
        await self._machine.lift()
        await self._machine.pass_slowly(point.x_mm - away_x_mm, point.y_mm - away_y_mm)
        await self._machine.pass_slowly(point.x_mm, point.y_mm)
        answer, _ = await self._asking.ask(tie_words.watch_leads(), place)
        if answer.choice == PULLED:
            raise MachineError(
                f"the tie at {point.name}",
                "its leads were pulled, caught or dragged",
                "Lay them with slack all the way.",
            )

    async def _come_near(self, place: Place, point: Point) -> Descent:
        """The nozzle stands above the plate, where blades were tried, or a little lower."""
        bracket = self._bracket
        if bracket is None:
            try_mm = self._machine.config.set_z_mm + (self._tie.plate_mm or 0.0) + TRY_ABOVE_MM
            await self._lower(point, try_mm)
            then = "The head lifts, then lowers to just above the plate."
            bracket = await self._blades.bracket(place, try_mm, then)
            self._machine.envelope.check_reach(bracket.upper_z_mm)
            self._bracket = bracket
            await self._asking.before_motion(f"The nozzle comes down in steps at {point.name}.")
        near_mm = bracket.upper_z_mm + 2 * self._tie.coarse_mm
        await self._lower(point, min(near_mm, bracket.z_try_mm))
        return self._machine.descent(bracket, self._tie)

    async def _lower(self, point: Point, z_mm: float) -> None:
        await self._asking.go_on(f"The head lowers to z {z_mm:.2f} mm over {point.name}.")
        await self._over(point)
        self._is_low = True
        set_z_mm = self._machine.config.set_z_mm
        if z_mm < set_z_mm:  # a low bed: lower than a setting is made all of the way is slow
            await self._machine.lower_to(set_z_mm)
        await self._machine.lower_to(z_mm)

    # ------------------------------------------------------------ down, and up again

    async def _until_contact(self, descent: Descent, place: Place) -> tuple[float, float]:
        open_z_mm: float | None = None
        while (proof := await self._asked(descent, place)) is not None:
            open_z_mm = descent.z_mm
            await descent.step(proof)
        closed_z_mm = descent.z_mm
        await descent.up()
        descent.bracket.check_contact_at(closed_z_mm)
        if open_z_mm is None:
            raise MachineError(
                descent.bracket.where,
                "there was contact before the first step",
                "See that the nozzle is clean and the leads are apart.",
            )
        return open_z_mm, closed_z_mm

    async def _asked(self, descent: Descent, place: Place) -> NoContact | None:
        """Whether there is contact where the nozzle stands; None: there is."""
        if self._contact is not None:
            return await descent.look(self._contact.closed)
        answer, _ = await self._asking.ask(tie_words.watch_lamp(descent.z_mm), place)
        proof = descent.told(answer)
        if proof is not None:
            self._asking.move_on("One short step down.")
        return proof

    async def _prove(self, place: Place, then: str) -> None:
        """Open, closed, open, by hand; then: what moves after it.

        Raises MachineError where it does not follow the hand.
        """
        self._is_proven = False
        joining = Joining(where=f"the tie at {place.point}")
        again = ""
        for _ in range(MOST_LOOKS):
            wanted = joining.wants_closed
            if wanted is None:
                break
            moves = then if joining.is_last else ""
            by_eye = self._contact is None
            words = tie_words.join_by_hand(
                joined=wanted, by_eye=by_eye, again=again, moves_next=moves
            )
            closed = await self._told(words, place)
            again = "" if closed == wanted else f"It said {'closed' if closed else 'open'}."
            joining = joining.saw(closed=closed)
        if not joining.proven:
            raise MachineError(
                f"the tie at {place.point}",
                "contact does not follow the hand that joins and parts the leads",
                "See to leads, clip and lamp.",
            )
        self._is_proven = True

    async def _told(self, words: Words, place: Place) -> bool:
        """Whether there is contact: seen by itself, or by whoever answers."""
        answer, _ = await self._asking.ask(words, place)
        return await self._contact.closed() if self._contact else answer.choice == LIT

    async def _give_up(self, descent: Descent) -> None:
        """The head goes up and its position is not trusted any more; it homes anew."""
        self.forget()
        self._asking.move_on("The head rises.")
        await descent.give_up()

    async def _rise(self) -> None:
        """Where a touch was broken off the nozzle is close above the plate."""
        if self._is_low:
            await self._asking.go_on("The head lifts.")
            await self._machine.lift()
            self._is_low = False

    async def _over(self, point: Point) -> None:
        await self._machine.lift()
        self._is_low = False
        await self._machine.go_over(point.x_mm, point.y_mm)
