"""From checked files to the parts of a run: its line, its order. For `run` and the daemon alike."""

import secrets

from hostctl.config.machine import Machine
from hostctl.daemon.assembly.plan import Plan
from hostctl.link.link import Link
from hostctl.link.patience import Patience
from hostctl.link.port import Port, PortSettings, open_port
from hostctl.protocol.noise import NoiseLimit
from hostctl.run.order import RunOrder
from hostctl.store.rows import RunRecord


def link_for(file: Machine, patience: Patience | None = None) -> Link:
    """The line to a machine, not open yet. Make it in the event loop that it will live in."""
    noise = file.noise
    return Link(
        file.port,
        PortSettings(baud=file.baud, reset_on_open=file.reset_on_open),
        noise=NoiseLimit(share=noise.most_resends / noise.among_lines, window=noise.among_lines),
        patience=patience,
    )


def order_for(plan: Plan, *, seed: int | None, resume: RunRecord | None) -> RunOrder:
    """What is to be carried out. seed None: the study's own, or one drawn now."""
    if seed is None:
        seed = plan.study.seed if plan.study.seed is not None else secrets.randbelow(2**32)
    return RunOrder(
        study=plan.study,
        machine=plan.machine,
        study_text=plan.study_text,
        machine_text=plan.machine_text,
        seed=seed,
        resume=resume,
    )


async def open_gauge_port(url: str, baud: int) -> Port:
    """Open the port of a gauge that has its own. Raises PortError."""
    return await open_port(url, PortSettings(baud=baud))
