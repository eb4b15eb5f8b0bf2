"""Blades tried by hand under the nozzle: between which two the gap lies."""

from dataclasses import replace

from hostctl.errors import MachineError
from hostctl.machine.descent.bracket import Bracket
from hostctl.machine.machine import Machine
from hostctl.records import Place
from hostctl.run.asking import Asking
from hostctl.run.steps.ties import tie_words
from hostctl.run.wording import Words

THICKEST_MM = 3.0
"""A thicker pile of blades is taken for a slip of the pen."""
LEFT_UNDER_MM = 0.3
"""Where all blades go in the head lowers until this is left of the thickest."""
LEAST_LOWERED_MM, MOST_LOWERED_MM = 0.05, 0.5
"""By so much at a time: a thickness that was typed wrong must not drive the nozzle into the bed."""


class Blades:
    """Asks for them, as often as it takes."""

    def __init__(self, machine: Machine, asking: Asking) -> None:
        self._machine = machine
        self._asking = asking

    async def bracket(self, place: Place, z_mm: float, then: str) -> Bracket:
        """From blades tried with the nozzle at `z_mm` or, where all of them go in, lower.

        The head stands there already. then: what moves once they are told. Raises the operator's
        words, what a move raises, and MachineError for a bed too low to be reached.
        """
        again = ""
        while True:
            in_mm = await self._tried(tie_words.try_blade("largest-in", z_mm, again), place)
            out_mm = await self._tried(tie_words.try_blade("smallest-out", z_mm, then=then), place)
            spare_mm = min(in_mm - LEFT_UNDER_MM, MOST_LOWERED_MM)
            if out_mm == in_mm and spare_mm >= LEAST_LOWERED_MM:
                lower_mm = round(z_mm - spare_mm, 2)
                self._machine.envelope.check_reach(lower_mm)
                sure = tie_words.lower_further(in_mm, z_mm, lower_mm)
                again = "The head did not lower."
                if await self._tried(sure, place) == in_mm:
                    await self._asking.before_motion(f"The head lowers to z {lower_mm:.2f} mm.")
                    await self._machine.lower_to(lower_mm)
                    z_mm, again = lower_mm, ""
                continue
            try:
                return Bracket(
                    where=f"the tie at {place.point}", z_try_mm=z_mm, in_mm=in_mm, out_mm=out_mm
                )
            except MachineError as no_bracket:
                again = f"{no_bracket.what[:1].upper()}{no_bracket.what[1:]}: try again."

    async def _tried(self, words: Words, place: Place) -> float:
        """How thick, mm."""
        asked = words
        while True:
            answer, _ = await self._asking.ask(asked, place)
            thick_mm = answer.reading_mm or 0.0
            if 0 <= thick_mm <= THICKEST_MM:
                return thick_mm
            again = f"{thick_mm:g} mm is no thickness from 0 to {THICKEST_MM:g} mm: say it again."
            asked = replace(words, detail=f"{again} {words.detail}")
