"""Whole studies of the true gap on the simulated printer, tied in each way, the truth known.

By people who stand at it, and by somebody who has only the screen.
"""

import json
from datetime import UTC, datetime

import pytest
from hostctl_simulators.physical.world import World
from test_simulated_printer import Bench, file_for
from tie_people import SAFE_HEAT, tie, true_gap

from hostctl.channels.view.few_words import without_hands
from hostctl.choices import DARK, LIT
from hostctl.config.machine import Machine
from hostctl.config.parts.tie import Tie
from hostctl.config.study import Cycle
from hostctl.deeds import JoinByHand, JoinLamp, TryBlade, WatchLamp
from hostctl.news import Answer, Prompt, PromptKind, PromptOpened, RunFinished, Word
from hostctl.records import TIE_METHOD, TieContact
from hostctl.run.desk import Desk
from hostctl.store.rows import TIE_CONTACT

QUICK = Cycle(settle_s=0.0, countdown_s=0)
BY = {
    "lamp": tie(),
    "input": tie(contact="input", input="contact", isolated=True),
    "feelers": tie(by="feelers", contact=None, plate_mm=None, blade_error_mm=0.003, feel_mm=0.005),
    "gauge-block": tie(
        by="gauge-block",
        contact=None,
        plate_mm=None,
        block_mm=1.0,
        block_error_mm=0.0002,
        feel_mm=0.005,
    ),
}
"""Each way, with the slack of simulated hands: blades and block as bought, felt to 0.005 mm."""

SLACK_MM = {"lamp": 0.0, "input": 0.0, "feelers": 0.008, "gauge-block": 0.0052}
SCATTER_MM = 0.03  # four times the tie's own scatter, and the rounding of two readings


def machine(kind: str = "workshop-220", **faults: object) -> Machine:
    return file_for(kind, **faults).model_copy(update={"heat": SAFE_HEAT})


def study(by: Tie) -> Bench:
    return Bench(true_gap(by, cycle=QUICK, trials=2), machine())


def truth_mm(world: World, file: Machine) -> float:
    assert file.indicator is not None
    heights = {"set_z_mm": file.set_z_mm, "reading_z_mm": file.indicator.reading_z_mm}
    return world.truth.tie_constant_mm((30.0, 30.0), **heights)


def check_ties(bench: Bench, slack_mm: float) -> None:
    """Each observation holds the truth, give or take what hands and rig scatter."""
    contacts = [event for event in bench.store.events if event.kind == TIE_CONTACT]
    rows = [row.kept for row in bench.store.counting]
    ties = [kept.reading for kept in rows if kept.place.method == TIE_METHOD]
    assert len(contacts) == len(ties) == 4
    true_mm = truth_mm(bench.printer.world, bench.file)
    for event, reading in zip(contacts, ties, strict=True):
        contact = TieContact.from_data(json.loads(event.data))
        low_mm, high_mm = contact.constant_mm(reading, grows_pressed=True)
        assert low_mm - slack_mm - SCATTER_MM <= true_mm <= high_mm + slack_mm + SCATTER_MM


@pytest.mark.parametrize("by", BY)
def test_a_study_of_the_true_gap_finds_the_constant_that_the_simulation_has(by):
    bench = study(BY[by])
    assert bench.carry_out().complete
    assert bench.holds == []
    assert bench.printer.world.crashes == []
    check_ties(bench, SLACK_MM[by])


@pytest.mark.parametrize("by", ["lamp", "input"])
def test_the_nozzle_is_pressed_in_by_at_most_one_fine_step(by):
    bench = study(BY[by])
    bench.carry_out()
    # and by what the axis comes to rest lower than it was sent, once a descent
    assert 0 < bench.printer.world.lookout.deepest_mm <= 0.01 + 4 * 0.002


class OnlyTheScreen:
    """Nobody's hands are at the printer: what is answered stands in the prompt."""

    name = "screen"

    async def serve(self, desk: Desk) -> None:
        """Answer until the run is over."""
        async with desk.listening() as news:
            async for item in news:
                if isinstance(item, RunFinished):
                    return
                if isinstance(item, PromptOpened):
                    desk.answer(self._answer(item.prompt))

    def _answer(self, prompt: Prompt) -> Answer:
        word, choice, reading_mm = Word.DONE, None, None
        if prompt.kind is PromptKind.CHOOSE:
            word, choice = Word.CHOSEN, self._choice(prompt)
        elif prompt.kind is PromptKind.READ:
            word, reading_mm = Word.READING, self._number(prompt)
        return Answer(
            prompt_id=prompt.prompt_id,
            word=word,
            choice=choice,
            reading_mm=reading_mm,
            channel=self.name,
            given_at=datetime.now(UTC),
        )

    def _choice(self, prompt: Prompt) -> str:
        if isinstance(prompt.deed, WatchLamp | JoinByHand | JoinLamp):
            return LIT if prompt.simulated_contact else DARK
        seen = without_hands(prompt).rpartition("Simulated: ")[2]
        return next(each.word for each in prompt.choices if f"{each.text}." == seen)

    def _number(self, prompt: Prompt) -> float:
        if isinstance(prompt.deed, TryBlade):
            return float(
                without_hands(prompt).rpartition("it is the ")[2].removesuffix(" mm blade.")
            )
        assert prompt.simulated_indicator_mm is not None
        return prompt.simulated_indicator_mm


@pytest.mark.parametrize("by", ["lamp", "feelers", "gauge-block"])
def test_a_user_with_only_the_screen_can_make_a_tie_at_a_simulated_machine(by):
    bench = study(BY[by])
    bench.people = OnlyTheScreen()
    assert bench.carry_out().complete
    assert bench.holds == []
    assert bench.printer.world.crashes == []
    check_ties(bench, SLACK_MM[by])
