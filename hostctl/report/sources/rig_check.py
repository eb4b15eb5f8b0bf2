"""Which rig check a run is judged by, why that one, and where it fits badly: one rule for all."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from hostctl.config.study_kind import words_of
from hostctl.store.reading import list_runs, read_surroundings
from hostctl.store.rows import RunSummary, Surroundings

ENOUGH = 10  # readings; fewer leave a standard deviation a quarter uncertain, JCGM 100 table E.1
AS_WARM_C = 10.0  # the sun on a window moves a cold bed by less; common practice, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class RigChoice:
    """The rig check chosen. why: a sentence; doubts: sentences, where it fits badly."""

    run: int
    why: str
    doubts: tuple[str, ...]


def is_rig_check(run: RunSummary) -> bool:
    """Whether it finds what the rig alone adds."""
    return words_of(run.new.kind).checks_rig


def rig_check_for(path: Path, run: int) -> RigChoice | None:
    """The rig check to judge a run of this database by; None without one. Raises StoreError."""
    runs = list_runs(path)
    judged = next((one for one in runs if one.run == run), None)
    if judged is None or is_rig_check(judged):
        return None
    same = [one for one in runs if one.new.machine == judged.new.machine]
    checks = [one for one in same if is_rig_check(one)]
    return choose(checks, judged, read_surroundings(path, [run, *(one.run for one in checks)]))


def named_rig_check(path: Path, check: int, run: int | None) -> RigChoice:
    """A check that a person named, its doubts told all the same. run: what it is to judge; None:
    any run. Raises StoreError."""
    numbers = [check] if run is None else [check, run]
    surroundings = read_surroundings(path, numbers)
    doubts = misfits(surroundings[check], surroundings.get(run) if run is not None else None)
    return RigChoice(
        run=check, why=f"Rig check: run {check}, as named.", doubts=_told(check, doubts)
    )


def choose(
    checks: Sequence[RunSummary], run: RunSummary, surroundings: Mapping[int, Surroundings]
) -> RigChoice | None:
    """The check with the fewest misfits; among equals one before the run, and the nearest to it.

    checks: those of the run's machine; what has no reading that counts is left out.
    """
    with_readings = [one for one in checks if surroundings[one.run].counting > 0]
    others = sorted((one for one in with_readings), key=lambda one: _far(one, run))
    if not others:
        return None
    faults = {one.run: misfits(surroundings[one.run], surroundings[run.run]) for one in others}
    best = min(others, key=lambda one: len(faults[one.run]))  # the first of equals: the nearest
    doubts = faults[best.run]
    if best.run > run.run:
        doubts = [*doubts, "was made after the run, and the mount may have changed between"]
    return RigChoice(
        run=best.run,
        why=f"Rig check: run {best.run}, {_why(best, others, faults, run)}.",
        doubts=_told(best.run, doubts),
    )


def misfits(check: Surroundings, run: Surroundings | None) -> list[str]:
    """Why a check fits a run badly, each as the end of a sentence. run None: whatever the run."""
    found = []
    if check.counting < ENOUGH:
        found.append(f"has only {check.counting} reading{'s' if check.counting > 1 else ''}")
    if run is None:
        return found
    warm_c, run_c = check.bed_c, run.bed_c
    if warm_c is not None and run_c is not None and abs(warm_c - run_c) > AS_WARM_C:
        found.append(f"was read on a bed of {warm_c:.0f} °C, the run at {run_c:.0f} °C")
    if check.points and run.points and not check.points & run.points:
        found.append(f"was read at {_listed(check.points)}, the run at {_listed(run.points)}")
    return found


def _far(check: RunSummary, run: RunSummary) -> tuple[bool, int]:
    return check.run > run.run, abs(check.run - run.run)


def _why(
    best: RunSummary,
    others: Sequence[RunSummary],
    faults: Mapping[int, Sequence[str]],
    run: RunSummary,
) -> str:
    nearest = others[0]
    if best is not nearest:
        return f"since run {nearest.run}, which is nearer, {faults[nearest.run][0]}"
    which = "last" if best.run < run.run else "first"
    when = "before" if best.run < run.run else "after"
    return f"the {which} one of {run.new.machine} {when} run {run.run}"


def _listed(points: frozenset[str]) -> str:
    return ", ".join(sorted(points))


def _told(check: int, doubts: Sequence[str]) -> tuple[str, ...]:
    return (f"As a rig check run {check} fits badly: it {'; it '.join(doubts)}.",) if doubts else ()
