"""Probe loops on the simulated printer with an arm for its probe, a door, and heaters."""

from collections.abc import Callable

from test_simulated_printer import Bench, file_for
from workshop import EPOCH, probe_loop

from hostctl.config.machine import Machine, Probe
from hostctl.config.parts.outputs import Door, InputReads, Output
from hostctl.config.study import Cycle, Study
from hostctl.news import Answer, Prompt, PromptOpened, ReadingKept, Word
from hostctl.run.desk import Desk

OUTPUTS = [
    Output(
        name=name,
        order=f"M280 P0 S{angle_deg}",
        proven_by=InputReads(input="probe-out", reads=word),
    )
    for name, angle_deg, word in (("probe-out", 10, "triggered"), ("probe-in", 90, "open"))
]
OUT_AND_IN = {"probe_out": "probe-out", "probe_in": "probe-in"}


def looping(loop: dict[str, object] | None = None, **changes: object) -> Study:
    """One point, ten touches, no time lost."""
    given: dict[str, object] = {
        "points": ["front-left"],
        "trials": 10,
        "cycle": Cycle(settle_s=0.0, countdown_s=0),
        "loop": {"control_limit": False} | (loop or {}),
    }
    return probe_loop(**(given | changes))


def arm_file(**faults: object) -> Machine:
    """The simulated printer with all that it can switch and see."""
    probe = Probe(offset_y_mm=20.0, free_when=InputReads(input="probe", reads="open"))
    parts = {"probe": probe, "door": Door(input="door"), "outputs": OUTPUTS}
    return file_for("workshop-tri", **faults).model_copy(update=parts)


def orders(bench: Bench) -> list[str]:
    """What was sent that switches, homes, touches or goes sideways."""
    kinds = {"G28": "home", "G30": "touch", "M280 P0 S10": "out", "M280 P0 S90": "in"}
    told = []
    for each in bench.printer.board.obeyed:
        text = each.text
        if text.startswith("G1 X"):
            told.append(text.split()[1])
        for sent, name in kinds.items():
            if text.startswith(sent):
                told.append(name)
    return told


class Somebody:
    """A person who answers as `says` has it; None: nothing. And says a word, unasked, once so many
    readings are kept."""

    name = "somebody"

    def __init__(
        self,
        says: Callable[[Prompt], Answer | None],
        *,
        after: int = 0,
        unasked: Word = Word.HOLD,
    ) -> None:
        self._says = says
        self._after = after
        self._unasked = unasked

    async def serve(self, desk: Desk) -> None:
        kept = 0
        async with desk.listening() as news:
            async for item in news:
                answer = self._says(item.prompt) if isinstance(item, PromptOpened) else None
                if answer is not None:
                    desk.answer(answer)
                kept += isinstance(item, ReadingKept)
                if isinstance(item, ReadingKept) and kept == self._after:
                    desk.answer(unprompted(self._unasked))


def unprompted(word: Word) -> Answer:
    return Answer(prompt_id=None, word=word, channel="phone", given_at=EPOCH)


def saying(prompt: Prompt, word: Word = Word.DONE, choice: str | None = None) -> Answer:
    return Answer(
        prompt_id=prompt.prompt_id,
        word=word,
        choice=choice,
        channel="somebody",
        given_at=prompt.opened_at,
    )
