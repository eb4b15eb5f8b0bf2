"""What is to be foreseen of a study: how long it takes, and what it will be able to show."""

from collections.abc import Iterator
from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Reference, Study
from hostctl.drafts.ahead.able import Able, Plan, able, is_finer_than_readings
from hostctl.drafts.ahead.busy import Busy, busy
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.told import told_mm, told_time


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreseen:
    """busy: None where the study's kind does not say. able: of a comparison; None of other kinds.

    within_mm: the tolerance, plus or minus; None without one. true_gap: whether it is about a
    target. too_fine: whether the graduation is too coarse for it. rig: None: no check is known.
    """

    busy: Busy | None
    able: Able | None
    within_mm: float | None
    true_gap: bool
    too_fine: bool
    rig: RigKnown | None


def foreseen(study: Study, machine: Machine, rig: RigKnown | None = None) -> Foreseen:
    """By formula alone, in a few hundredths of a second. rig: of the last rig check."""
    within_mm = study.tolerance.within_mm if study.tolerance else None
    true_gap = study.reference is Reference.GAP
    plan = Plan(
        methods=len(study.methods),
        people=len(study.operators),
        points=len(study.points),
        trials=study.trials,
        zeros=study.reference is Reference.FIRST,
        true_gap=true_gap,
        resolution_mm=study.gauge.resolution_mm,
        within_mm=within_mm,
    )
    compares = study.kind == "comparison" and plan.settings >= 2 * plan.points
    return Foreseen(
        busy=busy(study, machine),
        able=able(plan, rig) if compares else None,
        within_mm=within_mm,
        true_gap=true_gap,
        too_fine=within_mm is not None
        and is_finer_than_readings(within_mm, study.gauge.resolution_mm),
        rig=rig,
    )


def told(found: Foreseen) -> list[str]:
    """The same in plain sentences, the time first."""
    return [*_time(found), *_shows(found), *_rig(found)]


def _time(found: Foreseen) -> Iterator[str]:
    if found.busy is None:
        return
    done = found.busy
    counts = [f"{done.trials} trials"]
    if done.zeros:
        counts.append(f"{done.zeros} zeros")
    if done.ties:
        counts.append(f"{done.ties} observations of the tie")
    yield (
        f"{_and(counts)}: the machine is busy for about {told_time(done.machine_s)}; your own work "
        f"comes on top, about {told_time(done.people_s)} at half a minute a setting."
    )


def _and(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _shows(found: Foreseen) -> Iterator[str]:
    shows = found.able
    if shows is None:
        return
    yield (
        f"Each method has {shows.settings} settings in each pair of hands, so its spread comes out "
        f"to about {100 * shows.doubt:.0f} % (JCGM 100:2008, table E.1)."
    )
    if shows.method_ratio is not None:
        yield (
            f"That one method spreads more than another shows where it is {shows.method_ratio:.1f} "
            "times as much, in 4 of 5 studies."
        )
    if shows.hands_ratio is not None:
        yield (
            f"That one person's settings spread more than another's shows from "
            f"{shows.hands_ratio:.1f} times as much."
        )
    yield from _tolerance(found, shows)


def _tolerance(found: Foreseen, shows: Able) -> Iterator[str]:
    if found.within_mm is None:
        return
    limit = f"±{found.within_mm:g} mm"
    if found.too_fine:
        yield f"{limit} is finer than the graduation shows: it can't be judged."
    elif shows.proven_mm is None:
        yield f"{limit} can't be proven with so few settings, however good a method is."
    else:
        centre = ", its mean on target" if found.true_gap else ""
        yield (
            f"{limit} is proven of a method whose spread is {told_mm(shows.proven_mm)} or "
            f"less{centre}, in 4 of 5 studies."
        )


def _rig(found: Foreseen) -> Iterator[str]:
    shows = found.able
    if shows is None:
        return
    if found.rig is None:
        yield "No rig check is on record: what the rig itself adds stays in every figure."
    elif shows.told_from_rig_mm is not None:
        yield (
            f"By the rig check, run {found.rig.run}, a method's own spread is told from the rig's "
            f"where it is {told_mm(shows.told_from_rig_mm)} or more."
        )
