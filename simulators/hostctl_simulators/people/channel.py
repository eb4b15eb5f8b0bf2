"""The channel `simulated-people`: simulated operators in the same process as a `sim://` printer."""

import asyncio
from datetime import UTC, datetime

from hostctl.errors import ConfigError
from hostctl.news import Answer, HoldBegan, PromptOpened, ReadingKept, RunFinished, Word
from hostctl.run.desk import Desk
from hostctl_simulators.people.people import People, Question, Said
from hostctl_simulators.registry import find_world

MOST_HOLDS = 5


class SimulatedPeople:
    """Answers every prompt. Settings: `url` (of the printer), `seed` (of the people; the
    printer's by default), `pause_s` (real seconds before each answer, 0 by default)."""

    name = "simulated-people"

    def __init__(self, settings: dict[str, object]) -> None:
        seed, pause_s = settings.get("seed"), settings.get("pause_s", 0.0)
        if not (seed is None or isinstance(seed, int)) or not isinstance(pause_s, int | float):
            raise ConfigError(self.name, "seed and pause_s must be numbers", "Correct them.")
        try:
            world = find_world(str(settings["url"]))
        except (KeyError, ValueError) as cause:
            raise ConfigError(
                self.name, f"no simulated printer to stand at ({cause})", "Give its sim:// url."
            ) from cause
        self.people = People(world, seed)
        world.attended = True
        self._pause_s = pause_s
        self._holds = 0  # since the last reading

    async def serve(self, desk: Desk) -> None:
        """Answer until the run is over."""
        async with desk.listening() as news:
            async for item in news:
                match item:
                    case RunFinished():
                        return
                    case ReadingKept():
                        self._holds = 0
                    case HoldBegan():
                        self._holds += 1
                    case PromptOpened(prompt=prompt):
                        await asyncio.sleep(self._pause_s)
                        self._answer(desk, Question.from_prompt(prompt))
                    case _:
                        pass

    def _answer(self, desk: Desk, question: Question) -> None:
        if desk.open_prompt is None or desk.open_prompt.prompt_id != question.prompt_id:
            return  # withdrawn, or answered by somebody else: hands stay still
        if self._holds > MOST_HOLDS:
            self._end(desk, question.prompt_id)
            return
        said = self.people.answer(question)
        if said.nothing:
            return
        desk.answer(
            Answer(
                prompt_id=said.prompt_id,
                word=_word(said),
                reading_mm=said.reading_mm,
                choice=said.choice,
                channel=self.name,
                given_at=datetime.now(UTC),
            )
        )

    def _end(self, desk: Desk, prompt_id: str) -> None:
        """A hold that comes again and again mends itself no more: people give up."""
        desk.answer(
            Answer(
                prompt_id=prompt_id,
                word=Word.END,
                channel=self.name,
                given_at=datetime.now(UTC),
            )
        )


def _word(said: Said) -> Word:
    if said.choice is not None:
        return Word.CHOSEN
    return Word.DONE if said.reading_mm is None else Word.READING
