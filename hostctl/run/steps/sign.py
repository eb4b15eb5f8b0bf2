"""Which way the indicator's number goes as its plunger is pressed in: measured, once a run."""

from hostctl.choices import GREW
from hostctl.config.machine import Point
from hostctl.gauges.gauge import Gauge
from hostctl.records import Place
from hostctl.run.asking import Asking
from hostctl.run.record.journal import Journal
from hostctl.run.record.progress import Progress
from hostctl.run.steps import tie_words


async def find_sign(
    point: Point,
    place: Place,
    *,
    gauge: Gauge,
    asking: Asking,
    journal: Journal,
    progress: Progress,
) -> None:
    """Bring the indicator there, have its plunger pressed in by hand, keep which way it went.

    Raises what breaks into it.
    """
    await asking.go_on(f"The head brings the indicator over {point.name}.")
    await gauge.bring(point)
    answer, _ = await asking.ask(tie_words.press_plunger(point.name), place)
    grows = answer.choice == GREW
    await journal.keep_plunger_sign(grows_pressed=grows)
    progress.grows_pressed = grows
