"""What is useful once a run is over, or was looked at again: by its kind and what it found."""

from collections.abc import Iterator

from hostctl.cli.next_steps.done import Done
from hostctl.cli.next_steps.step import Step
from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.report.analysis.result.judgement import Judgement, MethodResult, Verdict
from hostctl.report.kinds.levelling.result import LevelResult

RIG_FIRST = "the rig by itself, to be taken out of what is read"
LIKELY_SHARE = 3
"""So many standard deviations make a tolerance, where nobody knows yet how settings scatter."""


def after_run(done: Done, found: object) -> list[Step]:
    """The most useful first. found: its judgement, or what its kind's own question found; None:
    no reading of it counts."""
    same = (done.by, *done.asked)
    return [step for step in _after(done, found) if step.words != same]


def _after(done: Done, found: object) -> Iterator[Step]:
    if not done.complete:
        yield done.of_run("from the trial where it stopped", "resume", str(done.run))
    match found:
        case LevelResult():
            yield from _after_level(done, found)
        case Judgement() if done.kind == "rig-check":
            yield from _after_rig_check(done, found)
        case Judgement() if done.kind == "comparison":
            yield from _after_settings(done, found)
        case Judgement() if done.kind == "tie":
            yield from _with_a_study(done, "the gaps that your methods set, by such a tie", True)
    if found is None:
        return
    yield Step(why="as one file to show to others", words=("report", *done.asked))
    yield Step(why="what it proves, and how sure that is", words=("analyse", *done.asked))


def _with_a_study(done: Done, why: str, of_gaps: bool) -> Iterator[Step]:
    fitting = done.fitting(of_gaps) if done.complete else None
    yield from done.carried_out(why, fitting.name if fitting else None)


# ------------------------------------------------------------------ the rig by itself


def _after_rig_check(done: Done, found: Judgement) -> Iterator[Step]:
    """A study on the same rig, and what this rig allows."""
    fitting = done.fitting(False) if done.complete else None
    if fitting is None or not found.results:
        return
    (rig, *_), within_mm = found.results, fitting.within_mm
    s_mm = rig.spread.quoted if not isinstance(rig.spread, NotYet) else None
    if not isinstance(s_mm, Estimate):
        yield from done.carried_out("your methods on the same rig", fitting.name)
        return
    adds = f"your methods on this rig, which adds s = {s_mm.value:.2g} mm"
    yield from done.carried_out(adds, fitting.name)
    if within_mm is not None:
        guess_mm = f"{within_mm / LIKELY_SHARE:.2g}"
        yield Step(
            why=f"trials for ±{within_mm:g} mm on it, were settings to scatter by {guess_mm} mm",
            words=(
                *("plan", "--claim", f"{within_mm:g}", "--expected-sd", guess_mm),
                *("--rig-sd", f"{s_mm.value:.2g}", "--rig-trials", str(rig.settings)),
            ),
        )


# ------------------------------------------------------------------ settings by hand


def _after_settings(done: Done, found: Judgement) -> Iterator[Step]:
    if found.rig is None and found.rig_wanted:
        yield from done.carried_out(RIG_FIRST, "rig-check")
    if found.goal is None or not done.complete:
        return
    if _wants_a_margin(found):
        margin = f"{found.goal.within_mm:g}"
        why = f"which mean gaps are within ±{margin} mm of the target"
        yield done.of_run(why, "analyse", str(done.run), "--on-target", margin)
    if open_results := [one for one in found.results if _is_open(one)]:
        yield from _undecided(done, open_results)


def _undecided(done: Done, results: list[MethodResult]) -> Iterator[Step]:
    """More trials: those that there are already, then as many as would probably decide."""
    if earlier := done.earlier():
        runs = [str(run) for run in (*earlier, done.run)]
        yield done.of_run("all runs of this study as one", "analyse", *runs)
    further = [trials for one in results if (trials := _further(one)) is not None]
    if further:
        why = f"about {max(further)} more trials each would probably decide"
        yield from done.carried_out(why, done.study)
    yield done.of_run("how many trials it takes", "plan", "--run", str(done.run))


def _wants_a_margin(found: Judgement) -> bool:
    return bool(found.trueness) and all(one.margin_mm is None for one in found.trueness)


def _is_open(result: MethodResult) -> bool:
    return not isinstance(result.verdict, Verdict) or result.verdict.verdict == "cannot tell yet"


def _further(result: MethodResult) -> int | None:
    return result.verdict.further_trials if isinstance(result.verdict, Verdict) else None


# ------------------------------------------------------------------ a bed levelled


def _after_level(done: Done, found: LevelResult) -> Iterator[Step]:
    if not done.complete:
        return
    match found.last.verdict:
        case "within-tolerance" | "within-rig":
            yield from done.carried_out("the bed is level: now the rig by itself", "rig-check")
            yield from _with_a_study(done, "your methods, on the level bed", False)
        case "out-of-travel":
            why = "what a screw without travel left needs; then its figures in the machine file"
            yield Step(why=why, words=("reference", "level"))
            yield from done.levelled("once the screws have travel again")
        case "no-better" | "jumped":
            why = "whether the rig repeats, since turning did not help"
            if found.last.verdict == "jumped":
                why = "whether the rig repeats, since its readings don't fit together"
            yield from done.carried_out(why, "rig-check")
            yield from done.levelled("once mount, screws and their directions were looked at")
        case "turn":
            yield from done.levelled("it is not level yet: once more")
