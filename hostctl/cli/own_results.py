"""What a run comes to whose kind has a result of its own: found, for whichever command tells it."""

from argparse import Namespace
from dataclasses import dataclass
from typing import Any, TypeVar

from hostctl.cli.database import chosen_database
from hostctl.cli.gathered import Gathered
from hostctl.errors import UsageError
from hostctl.report.document.blocks import Document
from hostctl.report.document.question import Question
from hostctl.report.kinds.own import own_result_of

Result = TypeVar("Result")

_OF_SETTINGS = (
    "rig",
    "tolerance",
    "proportion",
    "confidence",
    "looks",
    "margin",
    "target",
    "on_target",
    "method",
    "operator",
    "apart",
)
"""Options by which settings are judged; nothing else goes by them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnFound:
    """What was found. beside_analysis: whether the analysis of its readings is told too."""

    question: Question[Any]
    result: Any
    beside_analysis: bool

    def document(self, *, explained: bool) -> Document:
        """How it is told."""
        return self.question.document(self.result, explained)

    def below(self, analysis: Document, *, explained: bool) -> Document:
        """The same below the analysis of the readings."""
        from hostctl.report.kinds.beside import told_below

        return told_below(analysis, self.document(explained=explained))

    @property
    def data(self) -> dict[str, Any]:
        """The same for other programs."""
        return self.question.data(self.result)


def with_own(question: Question[Result], result: Result, own: OwnFound | None) -> dict[str, Any]:
    """The data of a result, and under `own` what the kind's own question found beside it."""
    data = question.data(result)
    return data if own is None else {**data, "own": own.data}


def own_found(args: Namespace, of: Gathered) -> OwnFound | None:
    """None: what was named is told by the analysis of settings alone.

    Raises StoreError, DataError; UsageError for several sources, and for options that judge
    settings.
    """
    own = own_result_of(of.material.kind)
    if own is None or (own.beside_analysis and len(args.sources) > 1):
        return None
    if not own.beside_analysis:
        _check_asked(args, of.material.kind)
    (source,) = of.sources or (_on_record(args),)
    return OwnFound(
        question=own.question, result=own.found(source), beside_analysis=own.beside_analysis
    )


def _on_record(args: Namespace) -> Any:
    from hostctl.report.enclosed.sourced import sourced_run

    return sourced_run(chosen_database(args), int(args.sources[0]))


def _check_asked(args: Namespace, kind: str) -> None:
    if len(args.sources) > 1:
        what = f"a run of kind {kind} is told by itself"
        raise UsageError(args.command, what, "Name one run alone.")
    given = next((one for one in _OF_SETTINGS if getattr(args, one, None) is not None), None)
    if given is not None:
        option = f"--{given.replace('_', '-')}"
        what = f"{option} is for settings, which a run of kind {kind} has none of"
        raise UsageError(args.command, what, "Leave it out.")
