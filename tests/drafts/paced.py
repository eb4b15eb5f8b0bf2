"""How long a study keeps the simulated printer at a printer's pace, people answering at once."""

import asyncio

from jumping_loop import in_jumping_time
from test_simulated_printer import Bench

from hostctl.config.machine import Machine
from hostctl.config.study import Study


def at_a_printers_pace(machine: Machine) -> Machine:
    """The same simulated machine, its moves taking as long as a printer's."""
    return machine.model_copy(update={"port": machine.port.replace("speed=max", "speed=real")})


def kept_busy_s(study: Study, machine: Machine) -> float:
    """Seconds of its own clock, none of them waited for."""
    bench = Bench(study, at_a_printers_pace(machine))

    async def timed() -> float:
        loop = asyncio.get_running_loop()
        began_s = loop.time()
        finished = await bench._run(None)
        assert finished.complete, finished
        return loop.time() - began_s

    return in_jumping_time(timed())
