"""The study file that the answers make: the same commented YAML that a person would write."""

from collections.abc import Iterator

from hostctl.config.load import study_from
from hostctl.config.machine import Machine
from hostctl.config.parts.tie import TieBy
from hostctl.config.study import Study
from hostctl.config.together import check_together
from hostctl.config.yaml_text import Source
from hostctl.drafts.study.answers import (
    Answers,
    DraftedMethod,
    by_probe,
    judges_gap,
    judges_rig,
    methods_of,
    number_of,
    operators_of,
    points_of,
    resolution_mm,
    settings_each,
    text_of,
)
from hostctl.drafts.yaml_lines import folded, plain, with_remark
from hostctl.metrology.claims.planning import precision_of_sd

_HEAD = """\
# Made of answers; change it as you like, then: hostctl check FILE --machine {machine}
# Lengths in mm, times in s, turns in degrees. A key that is left out takes the value shown here,
# unless its line says "required". `hostctl reference study` explains them all.
"""
_ORDER = """\
order: blocked            # blocked: blocks in random order, each done in one go;
                          # mixed: every trial of the study in one random order
#seed: 1                  # of the random order; left out: drawn at the start and recorded
"""
_FROM_FIRST = """\

# --- What a reading is counted from
reference: first          # first: from the block's zero; previous: indicator zeroed every trial;
                          # datum: from a gauge block; gap: the true gap, which needs a tie
"""
_CYCLE = """\

# --- One trial
cycle:
  settle_s: 3.0           # 0 to 30: rest before the reading; swing dies out in well under 1 s,
                          # the rest is for the eye (common practice, no source)
  countdown_s: 3          # 0 to 30: warning before anything moves; 0 on simulated machines only
"""
_TURNED_AWAY = """\
  turn_away:              # before each setting the operator turns the screw away by a random
    least_deg: 60         # amount in this range, so that settings owe nothing to each other;
    most_deg: 180         # 10 to 360; `turn_away: null` leaves it out
"""
_COLD = """\

# Every heater stays off: `warmth:` in `hostctl reference study` says how to ask for a warm bed.
"""
_TIE = """\

# --- What joins the indicator to the nozzle (required with reference gap)
# Read `hostctl reference tie` and the maker's manual before wiring anything; plate and lamp have
# their own battery.
tie:
"""
_TIE_COUNTS = """\
  beyond_mm: 0.004        # required: standard uncertainty of what repeating can't show:
                          # travel between heights, force, residue, temperature; that of our own
                          # example: work out yours with hostctl budget tie-beyond-touches
  times: 5                # 2 to 50: how often at each point
  checks: 1               # 0 to 20: checked so often on the way; once more at the end, always
  check_times: 3          # 2 to 50: how often at each point in a check
  stale_k: 5              # a bed so much warmer or colder than at the tie makes it stale
"""


def study_text(answers: Answers, machine: Machine) -> str:
    """The file, once every question is answered; it passes `hostctl check` with this machine."""
    return "".join(_parts(answers, machine))


def study_drafted(answers: Answers, machine: Machine) -> Study:
    """The same as a study, to be foreseen. Raises ConfigError where it does not fit the machine."""
    source = Source("the study drafted", study_text(answers, machine))
    study = study_from(source)
    check_together(study, machine, source)
    return study


def _parts(answers: Answers, machine: Machine) -> Iterator[str]:
    yield _HEAD.format(machine=machine.machine)
    yield "\n"
    yield with_remark(f"study: {plain(text_of(answers, 'study'))}", "names it in every record")
    yield folded("title: ", " ".join(text_of(answers, "title").split()))
    if judges_rig(answers):
        yield from _rig_check(answers)
    else:
        yield with_remark("kind: comparison", "required")
        yield from _compared(answers)
        yield from _how_much(answers)
        yield from _goal(answers)
        if judges_gap(answers):
            yield from _tie(answers)
        yield f"{_CYCLE}{_TURNED_AWAY}"
    yield from _gauge(answers, machine)
    yield _COLD


def _rig_check(answers: Answers) -> Iterator[str]:
    trials = round(number_of(answers, "trials"))
    doubt = precision_of_sd(trials).relative_sd
    yield with_remark("kind: rig-check", "required")
    yield "\n"
    points = f"points: [{plain(text_of(answers, 'points'))}]"
    yield with_remark(points, "one is enough: the spread is the rig's, not the bed's")
    so_well = f"they tell the spread itself to about {100 * doubt:.0f} % (JCGM 100, table E.1)"
    yield with_remark(f"trials: {trials}", so_well)
    yield with_remark("reference: first", "readings count from the block's first")
    yield _CYCLE
    yield with_remark("  turn_away: null", "nothing is turned in a rig check")


def _compared(answers: Answers) -> Iterator[str]:
    yield "\n# --- What is compared (required)\nmethods:\n"
    for method in methods_of(answers):
        yield from _method(method, gap=judges_gap(answers))
    yield "\n# Names as they go on record; a pseudonym does, and is kinder.\noperators:\n"
    for name in operators_of(answers):
        yield f"  - {plain(name)}\n"
    yield "\n"
    yield with_remark("points:", "required; named in the machine file")
    for name in points_of(answers):
        yield f"  - {plain(name)}\n"


def _method(method: DraftedMethod, *, gap: bool) -> Iterator[str]:
    name = f"  - name: {plain(method.name)}"
    yield with_remark(name, method.remark) if method.remark else f"{name}\n"
    yield folded("    instruction: ", method.instruction)
    if gap and method.goes_by is not None:
        yield with_remark(f"    goes_by: {method.goes_by}", "what tells that the gap is right")
    if gap and method.meant_mm is not None:
        yield with_remark(f"    meant_mm: {method.meant_mm:g}", "the gap that it is meant to set")


def _how_much(answers: Answers) -> Iterator[str]:
    trials = round(number_of(answers, "trials"))
    points = len(points_of(answers))
    settings, zeros = settings_each(answers, trials)
    doubt = precision_of_sd(settings - points + 1).relative_sd
    yield "\n# --- How much, and in which order\n"
    yield with_remark(
        f"trials: {trials}", "required: settings in each block (one method, one pair of hands,"
    )
    with_zeros = ", zeros included," if zeros else ""
    yield with_remark(
        "", f"one point): {settings} of each{with_zeros} tell a spread to about {100 * doubt:.0f} %"
    )
    yield with_remark("", "(JCGM 100:2008, table E.1)")
    yield _ORDER
    if not judges_gap(answers):
        yield _FROM_FIRST


def _goal(answers: Answers) -> Iterator[str]:
    yield "\n# --- What is good enough (left out: no verdict against a tolerance)\n"
    gap = judges_gap(answers)
    if gap:
        yield with_remark("reference: gap", "the true gap, by the tie below")
        target = f"target_mm: {number_of(answers, 'target_mm'):g}"
        yield with_remark(target, "required with reference gap: the gap wanted")
        on = f"on_target_within_mm: {number_of(answers, 'on_target_within_mm'):g}"
        yield with_remark(on, "a mean gap shown to be no further off is on target")
    yield "tolerance:\n"
    within = f"  within_mm: {number_of(answers, 'tolerance.within_mm'):g}"
    yield with_remark(within, "plus or minus, of the target" if gap else "plus or minus")
    yield with_remark("  proportion: 0.95", "at least this share of future settings …")
    yield with_remark("  confidence: 0.95", "… with this confidence")


def _tie(answers: Answers) -> Iterator[str]:
    yield _TIE
    by = TieBy(text_of(answers, "tie.by"))
    yield with_remark(f"  by: {by}", "required: touch, feelers or gauge-block")
    yield _TIE_COUNTS
    for key, remark in _TIE_KEYS[by].items():
        yield with_remark(f"  {key}: {number_of(answers, f'tie.{key}'):.6g}", remark)
    if by is TieBy.TOUCH:
        yield with_remark("  contact: lamp", "a person looks at a lamp, or hears a meter's beep")
        yield with_remark("  coarse_mm: 0.05", "one step down, above where contact is expected")
        yield with_remark("  fine_mm: 0.01", "one step down near contact")
        yield with_remark("  floor_below_mm: 0.1", "no further below what the blades say")


_TIE_KEYS = {
    TieBy.TOUCH: {
        "plate_mm": "how thick the plate or foil is; 0: a bare metal bed",
        "stands_mm": "how high plate, clip and leads stand above the bed",
    },
    TieBy.FEELERS: {
        "blade_error_mm": "limit of error of a blade, plus or minus",
        "feel_mm": "how finely it is felt, plus or minus",
    },
    TieBy.GAUGE_BLOCK: {
        "block_mm": "the block's height",
        "block_error_mm": "limit of error of its grade (ISO 3650), plus or minus",
        "feel_mm": "how finely it is felt, plus or minus",
    },
}


def _gauge(answers: Answers, machine: Machine) -> Iterator[str]:
    step = f"  resolution_mm: {resolution_mm(answers, machine):g}"
    yield "\n# --- What takes the reading\ngauge:\n"
    if by_probe(answers, machine):
        yield with_remark("  kind: probe", "the machine's own; its zero is of each block here")
        yield with_remark(step, "the step its heights come in")
    else:
        kinds = "typed (off the indicator), serial-indicator or typing-indicator"
        yield with_remark("  kind: typed", kinds)
        yield with_remark(step, "one graduation; readings are treated as rounded to it")
        yield with_remark("  typed_in_graduations: false", "true: type 2 for two graduations")
    plausible = f"  plausible_mm: {_plausible_mm(answers, machine):g}"
    yield with_remark(plausible, "a reading further from zero than this is asked for again")


def _plausible_mm(answers: Answers, machine: Machine) -> float:
    """As in the shipped studies, and more for what is wider than usual."""
    if judges_rig(answers):
        return max(0.15, 15 * resolution_mm(answers, machine))
    return max(1.0 if judges_gap(answers) else 0.5, 5 * number_of(answers, "tolerance.within_mm"))
