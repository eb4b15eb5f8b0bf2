"""How often each is tried, with what each number will be able to show."""

from math import ceil

from hostctl.config.machine import Machine
from hostctl.drafts.ahead.able import Plan, able
from hostctl.drafts.ahead.busy import busy
from hostctl.drafts.ahead.rig import RigKnown
from hostctl.drafts.question import Question
from hostctl.drafts.study.answers import (
    Answers,
    judges_gap,
    methods_of,
    number_of,
    operators_of,
    points_of,
    resolution_mm,
)
from hostctl.drafts.study_file import study_drafted
from hostctl.drafts.told import told_mm, told_time
from hostctl.drafts.trade_words import meanings

FEWEST_EACH = 10
"""Settings of one method in one pair of hands: a spread is 24 % uncertain (JCGM 100, E.1)."""
MOST = 100


def plan_of(answers: Answers, machine: Machine, trials: int) -> Plan:
    """The study with so many trials in each block."""
    return Plan(
        methods=len(methods_of(answers)),
        people=len(operators_of(answers)),
        points=len(points_of(answers)),
        trials=trials,
        zeros=not judges_gap(answers),
        true_gap=judges_gap(answers),
        resolution_mm=resolution_mm(answers, machine),
        within_mm=number_of(answers, "tolerance.within_mm"),
    )


def trials_question(answers: Answers, machine: Machine, rig: RigKnown | None) -> Question:
    """The fewest that carry a figure are suggested; how long each number takes is said too."""
    fewest = max(ceil(FEWEST_EACH / len(points_of(answers))), 3)
    choices = (fewest, 2 * fewest, 4 * fewest)
    unnamed = {**answers, "title": "unnamed", "study": "unnamed", "trials": fewest}
    study = study_drafted(unnamed, machine)
    says = []
    for trials in choices:
        done = busy(study.model_copy(update={"trials": trials}), machine)
        takes_s = None if done is None else done.machine_s + done.people_s
        says.append(_says(plan_of(answers, machine, trials), rig, takes_s))
    return Question(
        key="trials",
        text="How many trials at each point, by each method and person?",
        why=" ".join(says),
        kind="whole",
        least=2,
        most=MOST,
        suggested=str(fewest),
        words=meanings("setting", "spread", "tolerance"),
    )


def _says(plan: Plan, rig: RigKnown | None, takes_s: float | None) -> str:
    found = able(plan, rig)
    time = "" if takes_s is None else f", about {told_time(takes_s)}"
    parts = [f"{plan.trials}: {plan.total} settings in all{time}"]
    ratio = found.method_ratio or found.hands_ratio
    if ratio is not None:
        parts.append(f"a spread {ratio:.1f} times another's shows")
    else:
        parts.append(f"a spread is told to about {100 * found.doubt:.0f} %")
    if found.proven_mm is not None:
        spreads = f"spreads up to {told_mm(found.proven_mm)}"
        parts.append(f"±{plan.within_mm:g} mm is proven of {spreads}")
    return f"{'; '.join(parts)}."
