"""What is known of a rig by its last check, and what that means for what can be judged."""

from collections.abc import Iterator
from pathlib import Path

from hostctl.drafts.ahead.able import finest_tolerance_mm
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.told import told_mm
from hostctl.metrology.basis.estimate import Estimate
from hostctl.store.reading import list_runs


def rig_known(database: Path, machine_name: str) -> RigKnown | None:
    """By the machine's last rig check that was done to its end; None without one that says
    something. Raises StoreError."""
    from hostctl.report.history.checks import checks_on  # loads numpy

    complete = [run.run for run in checks_on(list_runs(database), machine_name) if run.complete]
    found = (_found(database, run) for run in reversed(complete))
    return next((rig for rig in found if rig is not None), None)


def _found(database: Path, run: int) -> RigKnown | None:
    from hostctl.errors import DataError
    from hostctl.report.sources.run_material import run_material
    from hostctl.report.sources.spread import spread_of

    try:
        material = run_material(database, run)
    except DataError:
        return None
    spread = spread_of(material.blocks, material)
    if spread is None:
        return None
    quoted = spread.quoted
    return RigKnown(
        run=run,
        sd_mm=quoted.value if isinstance(quoted, Estimate) else None,
        upper_mm=spread.interval.high,
        trials=material.readings,
        df=spread.df,
        resolution_mm=material.resolution_mm,
    )


def what_it_means(rig: RigKnown, within_mm: float | None = None) -> list[str]:
    """What can be judged with such a rig, and what to do where it is too coarse; sentences.

    within_mm: the tolerance in mind, plus or minus.
    """
    return list(_meaning(rig, within_mm))


def _meaning(rig: RigKnown, within_mm: float | None) -> Iterator[str]:
    if rig.sd_mm is None:
        yield (
            f"The rig's own spread is hidden by the graduation: at most {told_mm(rig.upper_mm)} "
            f"({rig.trials} readings)."
        )
    else:
        yield (
            f"The rig alone scatters by {told_mm(rig.sd_mm)}, and by no more than "
            f"{told_mm(rig.upper_mm)} ({rig.trials} readings, 95 % interval)."
        )
    yield (
        f"A method with a spread of its own below {told_mm(rig.hides_below_mm)} can't be told from "
        "the rig, however often it is tried."
    )
    if within_mm is None:
        yield f"The finest tolerance that it can judge is ±{told_mm(finest_tolerance_mm(rig))}."
    elif within_mm >= finest_tolerance_mm(rig):
        yield f"A tolerance of ±{within_mm:g} mm can be judged with it."
    else:
        yield (
            f"A tolerance of ±{within_mm:g} mm can't be judged with it: even a method that adds "
            "nothing would rarely be shown to meet it. The finest is "
            f"±{told_mm(finest_tolerance_mm(rig))}."
        )
        yield from _remedies(rig)


def _remedies(rig: RigKnown) -> Iterator[str]:
    """What would help, by what the coarseness comes from."""
    if rig.sd_mm is None or rig.spread_mm < rig.resolution_mm:
        yield (
            f"Readings go by steps of {rig.resolution_mm:g} mm, which is most of it: take an "
            "indicator with a finer graduation."
        )
    else:
        yield (
            "Look for play: the indicator's mount and stem, the axes, a bed that is loose on its "
            "screws. Then: hostctl run rig-check"
        )
    yield "Or ask for a tolerance that the rig can judge."
