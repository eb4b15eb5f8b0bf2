"""What is to be foreseen of a study: how long it takes, and what it will be able to show."""

from collections.abc import Iterator
from dataclasses import dataclass

from hostctl.config.machine import Machine
from hostctl.config.study import Reference, Study
from hostctl.config.study_kind import words_of
from hostctl.drafts.ahead.able import Able, Plan, able, is_finer_than_readings
from hostctl.drafts.ahead.busy import READING_S, SETTING_S, Busy, busy, zeros_of
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.told import counted, told_mm, told_time
from hostctl.metrology.claims.planning import precision_of_sd


@dataclass(frozen=True, slots=True, kw_only=True)
class Foreseen:
    """busy: None where the study's kind does not say. able: of a comparison; None of other kinds.

    rig_doubt: how well a rig check will tell the rig's spread, as a share; None of other kinds.
    within_mm: the tolerance, plus or minus; None without one. true_gap: whether it is about a
    target. too_fine: whether the graduation is too coarse for it. rig: None: no check is known.
    """

    busy: Busy | None
    able: Able | None
    rig_doubt: float | None
    within_mm: float | None
    true_gap: bool
    too_fine: bool
    rig: RigKnown | None


def foreseen(study: Study, machine: Machine, rig: RigKnown | None = None) -> Foreseen:
    """By formula alone, in some hundredths of a second. rig: by the last rig check."""
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
        rig_doubt=_rig_doubt(study),
        within_mm=within_mm,
        true_gap=true_gap,
        too_fine=within_mm is not None
        and is_finer_than_readings(within_mm, study.gauge.resolution_mm),
        rig=rig,
    )


def _rig_doubt(study: Study) -> float | None:
    if not words_of(study.kind).checks_rig:
        return None
    settings = len(study.points) * study.trials + zeros_of(study)
    df = settings - len(study.points)
    return precision_of_sd(df + 1).relative_sd if df > 0 else None


def told(found: Foreseen) -> list[str]:
    """The same in plain sentences, the time first."""
    return [*_time(found), *_shows(found), *_rig(found)]


def _time(found: Foreseen) -> Iterator[str]:
    done = found.busy
    if done is None:
        return
    what = "setting" if found.able else "reading"
    counts = [
        counted(number, one)
        for number, one in (
            (done.trials, what),
            (done.zeros, "zero"),
            (done.ties, "observation of the tie"),
        )
        if number
    ]
    most = "At most " if done.at_most else ""
    said = f"{most}{_and(counts)}; the machine is busy for about {told_time(done.machine_s)}"
    if done.people_s:
        at = f", at {SETTING_S + READING_S:g} s a setting" if found.able else ""
        said += f", your own work comes on top: about {told_time(done.people_s)}{at}"
    yield f"{said}."


def _and(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _shows(found: Foreseen) -> Iterator[str]:
    shows = found.able
    if found.rig_doubt is not None:
        yield (
            f"The rig's own spread comes out to about {100 * found.rig_doubt:.0f} % (JCGM "
            "100:2008, table E.1); run it again whenever indicator or mount were touched."
        )
    if shows is None:
        return
    yield (
        f"Each method gets {shows.settings} settings in each pair of hands, which tell its spread "
        f"to about {100 * shows.doubt:.0f} % (JCGM 100:2008, table E.1)."
    )
    if shows.method_ratio is not None:
        yield (
            f"Two methods are told apart where one spreads {shows.method_ratio:.1f} times as "
            "widely as the other, in 4 of 5 such studies."
        )
    if shows.hands_ratio is not None:
        yield (
            f"Two people are told apart where one's settings spread {shows.hands_ratio:.1f} times "
            "as widely as the other's."
        )
    yield from _tolerance(found, shows)


def _tolerance(found: Foreseen, shows: Able) -> Iterator[str]:
    if found.within_mm is None:
        return
    limit = f"±{found.within_mm:g} mm"
    if found.too_fine:
        yield f"A tolerance of {limit} is finer than the graduation shows: it can't be judged."
    elif shows.proven_mm is None:
        yield (
            f"A tolerance of {limit} would rarely be proven, however good a method is: take more "
            "trials, or a finer indicator."
        )
    else:
        centre = ", its mean on target" if found.true_gap else ""
        yield (
            f"A tolerance of {limit} is proven of a method that spreads by "
            f"{told_mm(shows.proven_mm)} or less{centre}, in 4 of 5 such studies."
        )


def _rig(found: Foreseen) -> Iterator[str]:
    shows = found.able
    if shows is None:
        return
    if found.rig is None:
        yield "No rig check is known: what the rig itself adds stays in every figure."
    elif shows.told_from_rig_mm is not None:
        yield (
            f"By the rig check, run {found.rig.run}, a method's own spread is told from the rig's "
            f"where it is {told_mm(shows.told_from_rig_mm)} or more."
        )
