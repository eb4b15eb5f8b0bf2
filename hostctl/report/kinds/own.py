"""The door to results of their own: which kind of study has one, and how it is told.

A run of comparison, rig check or tie is told by the analysis of settings. A run of a kind that is
listed here has something else to say: where a bed stands, how true an axis moves. `hostctl show`,
`analyse` and `report` ask this door by the kind of the run. What a new kind must bring, in a wing
`report/kinds/…` of its own:

- a frozen record, its result: every number that is told is in it, so that nothing is worked out
  while telling;
- a function from `Sourced` (the run's readings with point, trial, time and heat; its files' texts;
  marks and events, decisions among them) to that result. A report encloses just that, so
  `hostctl analyse FILE.html` says the result again from what somebody was sent;
- a `Question` of both, whose document begins with the question (Role.QUESTION), then the answer
  (Role.ANSWER), then a figure; headings follow. Cautions have Role.CAUTION.

Then one function here, which loads the wing where it is needed, and a line in `_OWN`; and the
`Question` in `report/schemas.py`. Its wing imports nothing of this one.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from hostctl.report.document.question import Question

if TYPE_CHECKING:
    from hostctl.report.enclosed.sourced import Sourced

Result = TypeVar("Result")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnResult(Generic[Result]):
    """How runs of one kind are told.

    found: the result, of a run on record or of one that a report encloses. Raises DataError where
    nothing can be said.
    beside_analysis: whether it is told below the analysis of the readings; else instead of it.
    """

    question: Question[Result]
    found: "Callable[[Sourced], Result]"
    beside_analysis: bool = False


def own_result_of(kind: str) -> OwnResult[Any] | None:
    """How runs of that kind of study are told; None: by the analysis of settings alone."""
    loaded = _OWN.get(kind)
    return loaded() if loaded is not None else None


def _level() -> OwnResult[Any]:
    from hostctl.report.kinds.levelling.document import LEVELLING
    from hostctl.report.kinds.levelling.found.from_run import levelling_of

    return OwnResult(question=LEVELLING, found=levelling_of)


def _axis_test() -> OwnResult[Any]:
    from hostctl.report.kinds.axis.document import AXIS
    from hostctl.report.kinds.axis.found.from_run import axis_of

    return OwnResult(question=AXIS, found=axis_of)


def _gauge_comparison() -> OwnResult[Any]:
    from hostctl.report.kinds.gauges.document import GAUGES
    from hostctl.report.kinds.gauges.found.from_run import gauges_of

    return OwnResult(question=GAUGES, found=gauges_of)


def _probe_loop() -> OwnResult[Any]:
    from hostctl.report.kinds.looping.document import LOOPING
    from hostctl.report.kinds.looping.found.from_run import loop_of

    return OwnResult(question=LOOPING, found=loop_of, beside_analysis=True)


_OWN: Mapping[str, Callable[[], OwnResult[Any]]] = {
    "level": _level,
    "axis-test": _axis_test,
    "gauge-comparison": _gauge_comparison,
    "probe-loop": _probe_loop,
}
