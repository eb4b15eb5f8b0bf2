"""A probe loop as its run, or a report of it, has it."""

from typing import TYPE_CHECKING

from hostctl.config.load import study_from
from hostctl.config.parts.loop import Loop
from hostctl.config.yaml_text import Source
from hostctl.errors import DataError, HostctlError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.metrology.looping.groups import failure_share
from hostctl.report.document.reasons import error_words
from hostctl.report.enclosed.sourced import COUNTS, Account, Sourced
from hostctl.report.kinds.looping.found.course import Checks, course_found, limit_checks
from hostctl.report.kinds.looping.found.decided import (
    LEFT_COLD,
    LONG_ENOUGH,
    Decided,
    decisions_of,
)
from hostctl.report.kinds.looping.found.spreads import (
    homing_found,
    points_found,
    sides_found,
    spread_found,
)
from hostctl.report.kinds.looping.found.times import (
    drift_found,
    hours_found,
    least_sigma,
    phases_found,
    settled_found,
    warm_up_found,
    warmth_found,
)
from hostctl.report.kinds.looping.found.touches import Touches, touches_of
from hostctl.report.kinds.looping.result import LimitsFound, LoopResult, SpreadFound, Stop
from hostctl.store.rows import TOUCH_FAILED

if TYPE_CHECKING:
    from hostctl.config.study import Study

_MOST_TEXT = 200_000  # letters of a file: whoever sends a report chose them
_UNREAD = (
    "Its study can't be read by this version of hostctl: from which side touches came, whether "
    "they were homed for and how many there were to be is not known here."
)


def loop_of(source: Sourced) -> LoopResult:
    """Raises DataError where nothing can be said."""
    name, account = source.material.name, source.account
    if account is None:
        raise DataError(name, "a file does not tell how a loop went", "Name a run on record.")
    study = _study(account)
    loop = (study.loop if study is not None else None) or Loop()
    try:
        touches = touches_of(source.rows, account, source.material.resolution_mm, loop)
        return _result(source, account, study, loop, touches)
    except NotEnough as why:
        raise DataError(name, error_words(why), "Look at it with: hostctl show RUN") from why


def _study(account: Account) -> "Study | None":
    """As it was kept with the run; None where this version can't read it."""
    if len(account.study_text) > _MOST_TEXT:
        return None
    try:
        return study_from(Source("study", account.study_text))
    except HostctlError:
        return None


def _result(
    source: Sourced, account: Account, study: "Study | None", loop: Loop, touches: Touches
) -> LoopResult:
    decided = decisions_of(account.events, source.material.name)
    planned = study.trials * len(study.points) if study is not None else None
    spread = spread_found(touches)
    least = least_sigma(spread)
    warm_up = warm_up_found(touches, spread, blocked=study is None or study.order == "blocked")
    limits, checks = limit_checks(touches, planned or len(touches))
    failed = sum(event.kind == TOUCH_FAILED for event in account.events)
    gave = sum(not zero for zero in source.rows.is_zero)
    return LoopResult(
        name=source.material.name,
        title=source.material.title,
        machine=account.machine,
        resolution_mm=touches.resolution_mm,
        touches=len(touches),
        planned=planned,
        void=sum(void != COUNTS for void in source.rows.void),
        failed=failed,
        failures=failure_share(failed, failed + gave),
        went_on_s=float(touches.at_s[-1]),
        stop=_stop(account, decided, planned, len(touches)),
        end_reason=account.end_reason,
        spread=spread,
        spread_without=_without(touches, checks, loop),
        drift=drift_found(touches, least),
        points=points_found(touches),
        sides=sides_found(touches),
        hours=hours_found(touches),
        phases=phases_found(touches),
        warmth=tuple(warmth_found(touches, least)),
        homing=homing_found(touches),
        homed_for_each=loop.home_every == 1,
        settled=settled_found(touches, warm_up, least),
        warm_up=warm_up.advice if warm_up is not None else None,
        warm_up_of=warm_up.of if warm_up is not None else 0,
        warm_up_at=warm_up.at if warm_up is not None else "",
        looks=decided.looks,
        held=decided.held,
        limits=_told(limits, loop),
        course=course_found(touches, checks if _told(limits, loop) else {}, account),
        notes=() if study is not None else (_UNREAD,),
    )


def _without(touches: Touches, checks: Checks, loop: Loop) -> SpreadFound | None:
    """The spread without touches beyond their limits; None where none is."""
    beyond = [at for at, check in checks.items() if check.beyond]
    return spread_found(touches, beyond) if beyond and loop.heat is None else None


def _told(limits: LimitsFound | None, loop: Loop) -> LimitsFound | None:
    """Where the bed is heated between, it moves on purpose, and no limit holds."""
    return limits if loop.heat is None else None


def _stop(account: Account, decided: Decided, planned: int | None, touches: int) -> Stop:
    if not account.complete:
        return "goes-on" if account.ended_at is None else "broken-off"
    if LONG_ENOUGH in decided.verdicts:
        return "time"
    if LEFT_COLD in decided.verdicts and touches < (planned or touches):
        return "left-cold"
    if "known" in decided.verdicts and touches < (planned or touches):
        return "known"
    return "count"
