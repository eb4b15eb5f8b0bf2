"""Asking people, and warning them: prompts with an id each, countdowns before anything moves."""

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import datetime

from hostctl.choices import choices_of
from hostctl.config.study import Study
from hostctl.deeds import Deed, JoinByHand, JoinLamp, TryBlade, WatchLamp
from hostctl.errors import MachineError
from hostctl.machine.machine import Machine
from hostctl.news import (
    Answer,
    CountdownTicked,
    LiveReading,
    Moving,
    Prompt,
    PromptKind,
    Word,
    kind_of,
)
from hostctl.records import Place
from hostctl.run import wording
from hostctl.run.desk import Desk, Keep
from hostctl.run.fitting import FROM_GAUGE
from hostctl.run.holds.breaks import EndAsked, HoldAsked, RedoAsked, SkipAsked
from hostctl.run.holds.watch import Watch
from hostctl.run.wording import Words

ON_ITS_SCREEN = {
    PromptKind.CONFIRM: "Your turn: look",
    PromptKind.SET: "Set the gap",
    PromptKind.ZERO: "Zero the indicator",
    PromptKind.READ: "Read the indicator",
    PromptKind.SEND: "Press to send",
    PromptKind.CHOOSE: "Your turn: say which",
}
"""Short, since a machine's screen is small and a long line is the likelier to be damaged."""


class Asking:
    """One run's voice. While a prompt is open the machine may not move."""

    def __init__(
        self,
        *,
        run: int,
        desk: Desk,
        keep: Keep,
        machine: Machine,
        watch: Watch,
        now: Callable[[], datetime],
        study: Study,
    ) -> None:
        self._run = run
        self._desk = desk
        self._keep = keep
        self._machine = machine
        self._watch = watch
        self._now = now
        self._countdown_s = study.cycle.countdown_s
        self._in_graduations = study.gauge.typed_in_graduations
        self._warmth = study.warmth
        self._asked = 0
        self._new_hands = False
        self._explained: dict[tuple[type[Deed], str], int] = {}

    async def ask(
        self,
        words: Words,
        place: Place | None = None,
        resolution_mm: float | None = None,
        redo_takes: Place | None = None,
    ) -> tuple[Answer, Prompt]:
        """Ask, and give the answer: `done` or a reading. It is on the disk by then.

        redo_takes: the trial that `redo` takes again, where it is not `place`.
        Raises HoldAsked, EndAsked, RedoAsked or SkipAsked for the other words, and a fault that
        happens meanwhile; the prompt is withdrawn then.
        """
        with self._machine.permit.withdrawn_for(words.deed):
            self._watch.check()
            await self._sign(words.deed)
            self._watch.check()
            prompt = self._prompt(words, place, resolution_mm)
            prompt = replace(prompt, redo_takes=redo_takes)
            async with self._watch.over_heat():
                answer = await self._desk.ask(prompt, self._keep)
        indicator = self._machine.simulated_indicator
        if indicator is not None and (prompt.kind, answer.word) == (PromptKind.ZERO, Word.DONE):
            indicator.turn_to_zero()
        self._sort(answer, prompt)
        return answer, prompt

    def say_whose(self) -> None:
        """With the next question of a trial: another person or method sets than before."""
        self._new_hands = True

    def hand_in(self, value_mm: float) -> None:
        """What the gauge sent at a press: the answer to the open prompt, as from any channel."""
        prompt = self._desk.open_prompt
        self._desk.answer(
            Answer(
                prompt_id=prompt.prompt_id if prompt else None,
                word=Word.READING,
                reading_mm=value_mm,
                channel=FROM_GAUGE,
                given_at=self._now(),
            )
        )

    def tell_live(self, present_mm: float, target_mm: float | None, resolution_mm: float) -> None:
        """What the gauge shows while a prompt is open: every channel is told, nothing is kept."""
        prompt = self._desk.open_prompt
        if prompt is not None:
            self._desk.tell(
                LiveReading(
                    prompt_id=prompt.prompt_id,
                    target_mm=target_mm,
                    present_mm=present_mm,
                    resolution_mm=resolution_mm,
                )
            )

    def tell_trouble(self, what: str) -> None:
        """What came from the gauge and is no reading: every channel is told."""
        prompt = self._desk.open_prompt
        self._desk.refuse(prompt.prompt_id if prompt else None, FROM_GAUGE, what)

    async def before_motion(self, what: str) -> None:
        """Count down, then allow motion. Raises what breaks in meanwhile; then nothing moves."""
        for left_s in range(self._countdown_s, 0, -1):
            self._desk.tell(CountdownTicked(seconds_left=left_s, what=what))
            await self._watch.pause(1.0)
        self.move_on(what)

    def move_on(self, what: str) -> None:
        """Allow motion at once: more of what the last answer set going."""
        self._watch.check()
        self._machine.permit.give()
        self._desk.tell(Moving(what=what))

    def look_up(self, what: str) -> None:
        """Raise what was heard; else tell what goes on. Allows no motion."""
        self._watch.check()
        self._desk.tell(Moving(what=what))

    async def go_on(self, what: str) -> None:
        """At once where nobody was asked since the last motion; else a countdown comes first."""
        if self._machine.permit.given:
            self.move_on(what)
        else:
            await self.before_motion(what)

    async def rest(self, rest_s: float) -> None:
        """Wait with nothing moving. Raises what is heard meanwhile."""
        self._desk.tell(Moving(what=f"Nothing moves for {rest_s:g} s."))
        await self._watch.pause(rest_s)

    async def _sign(self, deed: Deed) -> None:
        """Show and sound it at the machine; one that can't is no reason not to ask.

        No tone where there is something to choose: it may be a meter's beep that is listened for.
        """
        if self._machine.connected:
            with suppress(MachineError):
                await self._machine.message(ON_ITS_SCREEN[kind_of(deed)])
                if not choices_of(deed):
                    await self._machine.beep()

    def _prompt(self, words: Words, place: Place | None, resolution_mm: float | None) -> Prompt:
        self._asked += 1
        opened_at = self._now()
        simulated = self._machine.simulated_indicator
        reads = resolution_mm is not None and not isinstance(words.deed, TryBlade)
        looks = isinstance(words.deed, WatchLamp | JoinByHand | JoinLamp)
        hands_out = wording.hands_out(self._warmth) if words.moves_next else ""
        new_hands = self._new_hands and place is not None
        self._new_hands = self._new_hands and not new_hands
        detail = self._detail(words, place, hands_out)  # first: what hands do shows on a lamp
        return Prompt(
            prompt_id=f"{self._run}-{self._asked}-{int(opened_at.timestamp() * 1000):x}",
            deed=words.deed,
            text=words.text,
            detail=detail,
            moves_next=words.moves_next,
            place=place,
            opened_at=opened_at,
            resolution_mm=resolution_mm,
            typed_in_graduations=self._in_graduations and reads,  # a blade is in mm
            simulated_indicator_mm=simulated.shows_mm() if simulated and reads else None,
            simulated_contact=simulated.contact_closed() if simulated and looks else None,
            hands_out=hands_out,
            new_hands=new_hands,
        )

    def _detail(self, words: Words, place: Place | None, hands_out: str) -> str:
        """All that is said beside the deed; that hands must be out comes last."""
        simulated = self._machine.simulated_indicator
        seen = simulated.do(words.deed) if simulated else ""
        parts = (words.detail, self._once(words, place), seen, hands_out)
        return " ".join(part for part in parts if part)

    def _once(self, words: Words, place: Place | None) -> str:
        """What need not be said again to whoever did such a deed for a block in this sitting."""
        if place is None:
            return words.once
        whose = type(words.deed), place.operator
        first = self._explained.setdefault(whose, place.block)
        return words.once if place.block == first else ""

    def _sort(self, answer: Answer, prompt: Prompt) -> None:
        """Raise the words that break into a trial."""
        if answer.word is Word.HOLD:
            raise HoldAsked(answer)
        if answer.word is Word.END:
            raise EndAsked(answer, hands_may_be_in=prompt.deed.hands_in)
        if prompt.place is not None and answer.word is Word.REDO:
            raise RedoAsked(answer, prompt.redo_takes or prompt.place)
        if prompt.place is not None and answer.word is Word.SKIP:
            raise SkipAsked(answer, prompt.place)
