"""A plan as a document: for each question the answer, a small table, a curve, and the method."""

from collections.abc import Iterable

from hostctl.report.document.blocks import Document, Items, Part, Role
from hostctl.report.document.question import Question
from hostctl.report.planning.claim_parts import by_run_part, guesses_part, prove_part
from hostctl.report.planning.overview_part import overview_part
from hostctl.report.planning.result import Guesses, Plan
from hostctl.report.planning.spread_parts import know_part, see_part

CAUTIONS = (
    "Trials here are settings that count. With reference `first` a block's zero is one of them; "
    "with `previous` about half as many again are needed.",
    "All this takes settings as independent and normal.",
)
ONE_LOOK = (
    "A claim is judged once, after these trials: a first look, which spends half of the risk and "
    "leaves the rest for looks after more trials."
)


def plan_document(plan: Plan, _explained: bool) -> Document:
    """One part for each question asked, and what every plan takes for granted."""
    claims = plan.prove or plan.by_run or plan.overview
    cautions = Items(items=(*CAUTIONS, *((ONE_LOOK,) if claims else ())), role=Role.CAUTION)
    return Document(title="How many trials it takes", blocks=(*_parts(plan), cautions))


PLAN = Question(name="plan", version=1, result=Plan, document=plan_document)


def _parts(plan: Plan) -> Iterable[Part]:
    seconds = plan.trial_seconds
    if plan.know is not None:
        yield know_part(plan.know, seconds)
    if plan.see is not None:
        yield see_part(plan.see, seconds)
    if isinstance(plan.prove, Guesses):
        yield guesses_part(plan.prove, seconds)
    elif plan.prove is not None:
        yield prove_part(plan.prove, seconds)
    if plan.by_run is not None:
        yield by_run_part(plan.by_run)
    if plan.overview is not None:
        yield overview_part(plan.overview)
