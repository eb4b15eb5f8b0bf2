"""Which way the indicator's number goes as its plunger is pressed in: measured, once a run."""

from hostctl.choices import GREW
from hostctl.config.machine import Point
from hostctl.config.study import Study
from hostctl.gauges.gauge import Gauge
from hostctl.records import Place
from hostctl.run.asking import Asking
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps import axis_words
from hostctl.run.steps.levelling import words as level_words
from hostctl.run.steps.ties import tie_words


async def find_sign(
    point: Point,
    place: Place,
    *,
    gauge: Gauge,
    asking: Asking,
    journal: Journal,
    progress: Progress,
    study: Study,
    free_mm: float | None = None,
) -> None:
    """Bring the indicator there, have its plunger pressed in by hand, keep which way it went.

    free_mm: so much higher than usual it hangs free: in a levelling, where nobody knows yet how the
    bed lies. Raises what breaks into it.
    """
    await asking.go_on(f"The head brings the indicator over {point.name}.")
    await gauge.bring(point, free_mm or 0.0)
    words = level_words if free_mm is not None else tie_words
    asked = axis_words.moving_on(words.press_plunger(point.name), study)
    answer, _ = await asking.ask(asked, place)
    grows = answer.choice == GREW
    await journal.keep_plunger_sign(grows_pressed=grows)
    progress.grows_pressed = grows
