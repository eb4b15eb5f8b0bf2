"""An axis test as its run, or a report of it, has it: readings, the plunger's sign, both files."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from hostctl.config.load import study_from
from hostctl.config.yaml_text import Source
from hostctl.errors import DataError, HostctlError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.report.document.reasons import error_words
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.kinds.axis.found.sums import Told, axis_result
from hostctl.report.kinds.axis.result import AxisResult
from hostctl.store.rows import PLUNGER_SIGN

if TYPE_CHECKING:
    from hostctl.config.parts.axis import AxisTest, Way
    from hostctl.report.enclosed.sourced import Account

_MOST_TEXT = 200_000  # letters of a file: whoever sends a report chose them
_AGAIN = "Read it with the version of hostctl that it was made with."


def axis_of(source: Sourced) -> AxisResult:
    """What the run found. Raises DataError where nothing can be said yet, or it can't be read."""
    name, account = source.material.name, source.account
    if account is None:
        raise DataError(name, "it has no study that says what was aimed at", "Name the run.")
    axis = _axis(account, name)
    runs = _by_run(source.rows, axis, _sign(account, name))
    whole = [one for one in runs.values() if len(one) == axis.trials // axis.runs]
    if len(whole) < 2:
        what = f"{len(whole)} of its runs are whole, and it takes two"
        raise DataError(name, what, "Carry the run on first.")
    up, down = (
        [[one[at, way] for one in whole] for at in range(1, len(axis.targets_mm) + 1)]
        if axis.both_sides or way == "above"
        else []
        for way in ("below", "above")
    )
    told = Told(
        name=name,
        title=source.material.title,
        machine=account.machine,
        point=source.rows.groups[0].point,
        relative=True,
        calibrated_u_mm=axis.calibrated_u_mm,
        left_out=len(runs) - len(whole),
        complete=account.complete,
        notes=source.material.notes,
    )
    _check_sense(name, up or down, axis.targets_mm)
    try:
        return axis_result(told, axis.targets_mm, up, down, source.material.resolution_mm)
    except NotEnough as why:
        raise DataError(name, error_words(why), "Test again.") from why


def _axis(account: "Account", name: str) -> "AxisTest":
    """What was aimed at, as kept with the run. Raises DataError."""
    if len(account.study_text) > _MOST_TEXT:
        raise DataError(name, "its study file is too long to be one", _AGAIN)
    try:
        axis = study_from(Source("study", account.study_text)).axis
    except HostctlError as why:
        raise DataError(name, "its study file can't be read by this version", _AGAIN) from why
    if axis is None:
        raise DataError(name, "its study file says no targets", _AGAIN)
    return axis


def _sign(account: "Account", name: str) -> int:
    """1 where the number grows as the plunger is pressed in. Raises DataError."""
    signs = [json.loads(event.data) for event in account.events if event.kind == PLUNGER_SIGN]
    if not signs or not isinstance(signs[-1], dict) or "grows_pressed" not in signs[-1]:
        what = "nobody said which way the indicator counts"
        raise DataError(name, what, "Carry the run on first.")
    return 1 if signs[-1]["grows_pressed"] else -1


def _by_run(
    rows: Rows, axis: "AxisTest", sign: int
) -> Mapping[int, Mapping["tuple[int, Way]", float]]:
    """Of each run of the test, the position reached at each target from each side.

    Where the nozzle is higher the plunger is pressed in less.
    """
    found: dict[int, dict[tuple[int, Way], float]] = defaultdict(dict)
    for trial, value_mm in _counting(rows):
        if 1 <= trial <= axis.trials:
            aim = axis.aim(trial)
            found[aim.run][aim.target, aim.coming_from] = -sign * value_mm
    return found


def _counting(rows: Rows) -> Iterator[tuple[int, float]]:
    """What counts of the only block, as it was begun last."""
    begun = max((group.round for group in rows.groups), default=0)
    for at, trial, void, value_mm in zip(
        rows.group, rows.trial, rows.void, rows.value_mm, strict=True
    ):
        if void == COUNTS and rows.groups[at].round == begun:
            yield trial, value_mm


def _check_sense(name: str, reached: list[list[float]], targets_mm: list[float]) -> None:
    """Raises DataError where positions fall as targets rise: the sign was said wrongly."""
    rose_mm = reached[-1][0] - reached[0][0]
    if rose_mm * (targets_mm[-1] - targets_mm[0]) <= 0:
        what = "its readings go the other way than was said when the plunger was pressed"
        raise DataError(name, what, "Begin a new run, and look twice which way the number goes.")
