"""What is known of a rig by its last check, and what that means for what can be judged.

As one line of JSON, for whoever loads no numpy: python -m hostctl.drafts.rig_known DATABASE MACHINE
"""

import json
import math
import sys
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from hostctl.drafts.ahead.able import FINEST_SURE_TO, JUDGED_BY, finest_tolerance_mm
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.told import counted, told_mm
from hostctl.metrology.basis.estimate import Estimate
from hostctl.report.sources.rig_check import ENOUGH
from hostctl.store.reading import list_runs


def rig_known(database: Path, machine_name: str) -> RigKnown | None:
    """By the machine's last rig check that was done to its end, before all one of enough readings.

    None without one that says something. Raises StoreError.
    """
    from hostctl.report.history.checks import checks_on  # loads numpy

    complete = [run.run for run in checks_on(list_runs(database), machine_name) if run.complete]
    short: RigKnown | None = None
    for run in reversed(complete):
        rig = _found(database, run)
        if rig is not None and rig.trials >= ENOUGH:
            return rig
        short = short or rig
    return short


def _found(database: Path, run: int) -> RigKnown | None:
    from hostctl.report.sources.rig_material import run_spread

    found = run_spread(database, run)
    if found is None:
        return None
    spread, material = found
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
    if rig.trials < ENOUGH:
        yield (
            f"{counted(rig.trials, 'reading')} say little: a check of 20 tells it to about 16 % "
            "(JCGM 100:2008, table E.1). Run: hostctl run rig-check"
        )
    hides = "may not be" if rig.sd_mm is None else "can't be"
    yield (
        f"A method with a spread of its own below {told_mm(rig.hides_below_mm)} {hides} told from "
        "the rig, however often it is tried."
    )
    yield from _of_tolerance(rig, within_mm)


def _of_tolerance(rig: RigKnown, within_mm: float | None) -> Iterator[str]:
    finest_mm = finest_tolerance_mm(rig)
    about = f"about ±{told_mm(finest_mm)}"
    if within_mm is None:
        yield f"The finest tolerance that it can judge is {about}."
        return
    asked = f"A tolerance of ±{within_mm:g} mm"
    if within_mm >= finest_mm * FINEST_SURE_TO:
        yield f"{asked} can be judged with it."
        return
    if within_mm > finest_mm / FINEST_SURE_TO:
        yield f"{asked} is about the finest that it can judge."
    else:
        yield (
            f"{asked} is too fine for it: even a method that adds nothing would be shown to meet "
            f"it in fewer than 4 of 5 studies of {JUDGED_BY} settings. The finest is {about}."
        )
    yield from _remedies(rig)


def _remedies(rig: RigKnown) -> Iterator[str]:
    """What would help, by what the coarseness comes from."""
    rounding_mm = rig.resolution_mm / math.sqrt(12.0)
    if rig.sd_mm is None or rig.sd_mm < rounding_mm:
        yield (
            f"Most of it is the graduation, {rig.resolution_mm:g} mm: take an indicator with a "
            "finer one."
        )
    else:
        yield (
            "Look for play: the indicator's mount and stem, the axes, a bed that is loose on its "
            "screws. Then: hostctl run rig-check"
        )
    yield "Or ask for a tolerance that the rig can judge."


if __name__ == "__main__":
    _known = rig_known(Path(sys.argv[1]), sys.argv[2])
    sys.stdout.write(json.dumps(None if _known is None else asdict(_known), allow_nan=False))
