"""Down towards a contact that somebody or something else tells, one short move a step.

Each step is paid for with a proof that there was no contact where the nozzle stands, got since the
step before; a proof can't be had elsewhere, and is good once. Each step is over, and its height
proven closer than a step, before contact is asked for: no move under way waits for it to end it.
"""

import math
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import dataclass
from typing import NoReturn

from hostctl.choices import DARK, LIT
from hostctl.config.parts.tie import Tie
from hostctl.errors import MachineError
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.envelope import Envelope
from hostctl.machine.head import Head
from hostctl.machine.heat import Heaters, aims_in_words
from hostctl.machine.permit import MotionForbidden, Permit
from hostctl.news import Answer, Word
from hostctl.records import Heat

COARSE_MM = 0.05
FINE_MM = 0.01
"""The longest steps, whatever a study says: above where contact is expected, and near it."""

GRID_MM = 0.01
"""What most boards report heights to; on this grid their rounding hides nothing."""

CLOSE_MM = 0.005
"""A reported height must be closer than this to the ordered one: the rounding of two decimals. A
board that reports more coarsely can't prove a fine step, and is not let down."""

LOOKS = 3
ANEW = "It homes again before it goes on, and the tie is made anew."


@dataclass(frozen=True, eq=False)
class NoContact:
    """There was no contact where the nozzle stands: good for one step. Only a Descent makes it."""

    z_mm: float


class NoContactAtFloor(MachineError):
    """The nozzle is as low as it may go, and nothing told of contact. It was not moved."""


class Descent:
    """One way down, of one machine in one homing; `Machine.descent` makes it.

    Raises MachineError and LinkError, as moves do. Once the position is lost it is of no use any
    more: another one is made after homing, from blades that were tried anew.
    """

    def __init__(
        self,
        head: Head,
        envelope: Envelope,
        heaters: Heaters,
        permit: Permit,
        bracket: Bracket,
        tie: Tie,
    ) -> None:
        """Steps are `coarse_mm` long until the next would end below the bracket's upper end, then
        `fine_mm`. Raises MachineError where the position is not known.
        """
        head.known()
        self.bracket = bracket
        self.floor_z_mm = bracket.floor_z_mm(tie.floor_below_mm)
        self._where = bracket.where
        self._head = head
        self._envelope = envelope
        self._heaters = heaters
        self._permit = permit
        self._coarse_mm = min(tie.coarse_mm, COARSE_MM)
        self._fine_mm = min(tie.fine_mm, FINE_MM)
        self._homing = head.losses
        self._proof: NoContact | None = None
        self._answered: set[str] = set()

    @property
    def z_mm(self) -> float:
        """The height that the nozzle was last sent to, and was proven to be at."""
        self._head.known()
        return self._head.ordered_z_mm

    @property
    def next_z_mm(self) -> float:
        """Where the next step ends. Raises NoContactAtFloor where there is none."""
        z_mm = self._below(self._coarse_mm)
        if z_mm < self.bracket.upper_z_mm:
            z_mm = self._below(self._fine_mm)
        if z_mm < self.floor_z_mm:
            raise NoContactAtFloor(
                self._where,
                f"there is no contact down to z {self.z_mm:.2f} mm, and the floor is at "
                f"{self.floor_z_mm:.2f} mm",
                f"See to leads, clip and lamp. {ANEW}",
            )
        return z_mm

    # ------------------------------------------------------------ whether there is contact

    async def look(self, closed: Callable[[], Awaitable[bool]]) -> NoContact | None:
        """Ask what tells of contact by itself; None: there is contact.

        What `closed` raises (it bounces, or says nothing) goes on to the caller, without a proof.
        """
        self._proof, z_mm = None, self._stands()
        if await closed():
            return None
        return self._proven(z_mm)

    def told(self, answer: Answer) -> NoContact | None:
        """What a person said of the lamp; None: it is lit, and the head may rise at once.

        Each answer counts once. Raises MachineError for any that says neither dark nor lit.
        """
        self._proof, z_mm = None, self._stands()
        said = answer.choice if answer.word is Word.CHOSEN else None
        anew = answer.prompt_id is not None and answer.prompt_id not in self._answered
        if said not in (DARK, LIT) or not anew:
            raise MachineError(
                self._where, "nobody said anew whether the lamp is dark", "Answer its prompt."
            )
        self._answered.add(str(answer.prompt_id))
        if said == LIT:
            self._permit.allow_rising()
            return None
        return self._proven(z_mm)

    # ------------------------------------------------------------ motion

    async def step(self, proof: NoContact) -> float:
        """One step down, slowly; gives where the nozzle now stands, mm.

        Refused, and nothing sent, without a permit, without a fresh proof, below the floor and
        below the travel. A heater that is on is switched off, and the head goes up.
        """
        spent, self._proof = self._proof, None
        self._permit.check()
        z_mm = self._stands()
        if proof is not spent or proof.z_mm != z_mm:
            raise MachineError(
                self._where,
                "contact was not asked for since the last step; nothing was sent",
                "Ask for it first.",
            )
        move = self._envelope.step_down(z_mm, self.next_z_mm, self._coarse_mm)
        await self._check_heaters_off()
        self._check_still_at(z_mm)
        try:
            await self._head.step(move, min(CLOSE_MM, (z_mm - move.z_mm) / 2))
        except MachineError as fault:
            self._say_more(fault)
        return self.z_mm

    async def up(self) -> None:
        """Straight up to the clear height; right after "lit" without another permit."""
        self._proof = None
        await self._head.rise(self._envelope.clear_z_mm)

    async def give_up(self) -> None:
        """Up, and the position counts for nothing any more: the machine must home anew.

        For contact that is lost, comes too high or bounces. Where it may not move, it stays.
        """
        try:
            if self._head.homed:
                with suppress(MotionForbidden):
                    await self.up()
        finally:
            self._head.lose()

    # ------------------------------------------------------------ inside

    def _below(self, step_mm: float) -> float:
        """The height at most `step_mm` lower: on the grid, unless steps are finer than it is."""
        end_mm = self.z_mm - step_mm
        if step_mm >= GRID_MM:
            end_mm = math.ceil(end_mm / GRID_MM - 1e-6) * GRID_MM
        return round(end_mm, 3)

    def _stands(self) -> float:
        """Where the nozzle stands, in the homing that this descent belongs to."""
        z_mm = self.z_mm
        if self._head.losses != self._homing:
            raise MachineError(
                self._where, "it was homed since the blades were tried; nothing was sent", ANEW
            )
        return z_mm

    def _proven(self, z_mm: float) -> NoContact:
        self._check_still_at(z_mm)
        self._proof = NoContact(z_mm)
        return self._proof

    def _check_still_at(self, z_mm: float) -> None:
        """Nobody else moved it meanwhile."""
        if self._stands() != z_mm:
            raise MachineError(self._where, "the head was moved meanwhile", ANEW)

    async def _check_heaters_off(self) -> None:
        """Both targets are 0, as it says itself; one report may be damaged on the way."""
        for _ in range(LOOKS):
            heat = await self._heaters.heat()
            if _is_off(heat):
                return
        problem = await self._heaters.off_if_possible()
        await self.give_up()
        on = aims_in_words(heat)
        raise MachineError(
            self._where,
            f"during the touch it said {on}" if on else "it does not say what its heaters aim at",
            f"{problem or 'All heaters are off now.'} {ANEW}",
        )

    def _say_more(self, fault: MachineError) -> NoReturn:
        """What most often stops a nozzle on its way to a bed that lies low."""
        if self._head.homed:
            raise fault
        raise fault.saying_also(
            "if the board allows nothing lower, the bed is turned up by hand; if it reports "
            "heights more coarsely than to 0.01 mm, no touch can be made with it"
        ) from fault


def _is_off(heat: Heat) -> bool:
    """Whether it says so of the nozzle, and of the bed where it has one."""
    bed_is_off = heat.bed_target_c == 0 or (heat.bed_c is None and heat.bed_target_c is None)
    return heat.nozzle_target_c == 0 and bed_is_off
