"""A gauge comparison as its run, or a report of it, has it: pairs of readings, and both files."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from hostctl.config.load import machine_from, study_from
from hostctl.config.parts.gauge import names_of
from hostctl.config.yaml_text import Source
from hostctl.errors import DataError, HostctlError
from hostctl.metrology.basis.estimate import Estimate, Interval, NotYet
from hostctl.metrology.looping.paired import paired_difference
from hostctl.report.enclosed.sourced import COUNTS, Rows, Sourced
from hostctl.report.kinds.gauges.result import GaugeFound, GaugesResult, PairFound, PointFound
from hostctl.report.sources.run_material import FINER
from hostctl.store.rows import PLUNGER_SIGN

if TYPE_CHECKING:
    from hostctl.config.machine import Machine
    from hostctl.config.parts.gauge import Gauge
    from hostctl.report.enclosed.sourced import Account

PROBE = "probe"
_RISK = 0.05
_MOST_TEXT = 200_000  # letters of a file: whoever sends a report chose them
_AGAIN = "Read it with the version of hostctl that it was made with."


def gauges_of(source: Sourced) -> GaugesResult:
    """What the run found. Raises DataError where nothing can be said yet, or it can't be read."""
    name, account = source.material.name, source.account
    if account is None:
        raise DataError(name, "it has no study that says which gauges read", "Name the run.")
    gauges = _gauges(account, name)
    heights = PROBE in (gauges[0].name, gauges[1].name)
    signs = [_sign(account, name, one.name) if heights else 1 for one in gauges]
    pairs, left_out = _pairs(source.rows, signs)
    if not pairs:
        raise DataError(name, "no place was read by both gauges yet", "Carry the run on first.")
    points = tuple(_points(pairs, gauges))
    return GaugesResult(
        name=name,
        title=source.material.title,
        machine=account.machine,
        first=gauges[0],
        second=gauges[1],
        sense="heights" if heights else "as-shown",
        pairs=pairs,
        points=points,
        mean_mm=sum(one.difference_mm for one in pairs) / len(pairs),
        apart=_apart(points),
        left_out=left_out,
        complete=account.complete,
        notes=tuple(note for note in source.material.notes if not note.startswith(FINER)),
    )


def _gauges(account: "Account", name: str) -> tuple[GaugeFound, GaugeFound]:
    """As kept with the run. Raises DataError."""
    if max(len(account.study_text), len(account.machine_text)) > _MOST_TEXT:
        raise DataError(name, "its study and machine file are too long to be such", _AGAIN)
    try:
        study = study_from(Source("study", account.study_text))
        machine = machine_from(Source("machine", account.machine_text))
    except HostctlError as why:
        what = "its study and machine file can't be read by this version"
        raise DataError(name, what, _AGAIN) from why
    if study.second_gauge is None:
        raise DataError(name, "its study file has one gauge alone", _AGAIN)
    names = names_of(study.gauge, study.second_gauge)
    return (
        GaugeFound(name=names[0], resolution_mm=_step(study.gauge, machine)),
        GaugeFound(name=names[1], resolution_mm=_step(study.second_gauge, machine)),
    )


def _step(gauge: "Gauge", machine: "Machine") -> float:
    of_probe = machine.probe.resolution_mm if machine.probe is not None else None
    return of_probe if gauge.kind == PROBE and of_probe else gauge.resolution_mm


def _sign(account: "Account", name: str, gauge: str) -> int:
    """-1 where its number falls as the bed comes up. Raises DataError."""
    if gauge == PROBE:
        return 1
    signs = [json.loads(event.data) for event in account.events if event.kind == PLUNGER_SIGN]
    if not signs or not isinstance(signs[-1], dict) or "grows_pressed" not in signs[-1]:
        what = "nobody said which way the indicator counts"
        raise DataError(name, what, "Carry the run on first.")
    return 1 if signs[-1]["grows_pressed"] else -1


def _pairs(rows: Rows, signs: Sequence[int]) -> tuple[tuple[PairFound, ...], int]:
    """What counts of both gauges, in the order taken, and how many readings have no other."""
    found: dict[tuple[int, int], dict[int, float]] = defaultdict(dict)
    points: dict[int, str] = {}
    for at, block, trial, value_mm in _counting(rows):
        which, place = (block - 1) % 2, (block - 1) // 2
        points[place] = rows.groups[at].point
        found[place, trial][which] = signs[which] * value_mm
    whole = [(key, both) for key, both in found.items() if len(both) == 2]
    pairs = tuple(
        PairFound(
            place=number,
            point=points[key[0]],
            first_mm=both[0],
            second_mm=both[1],
            difference_mm=both[0] - both[1],
        )
        for number, (key, both) in enumerate(whole, 1)
    )
    return pairs, len(found) - len(whole)


def _counting(rows: Rows) -> Iterator[tuple[int, int, int, float]]:
    """Group, block, trial and value, each block as it was begun last."""
    begun: Mapping[int, int] = _last_rounds(rows)
    for at, trial, void, value_mm in zip(
        rows.group, rows.trial, rows.void, rows.value_mm, strict=True
    ):
        group = rows.groups[at]
        if void == COUNTS and group.round == begun[group.block]:
            yield at, group.block, trial, value_mm


def _last_rounds(rows: Rows) -> Mapping[int, int]:
    last: dict[int, int] = defaultdict(int)
    for group in rows.groups:
        last[group.block] = max(last[group.block], group.round)
    return last


def _points(pairs: Sequence[PairFound], gauges: Sequence[GaugeFound]) -> Iterator[PointFound]:
    of: dict[str, list[PairFound]] = defaultdict(list)
    for one in pairs:
        of[one.point].append(one)
    for point, each in of.items():
        jointly, alone = (
            paired_difference(
                [one.first_mm for one in each],
                [one.second_mm for one in each],
                resolution=gauges[0].resolution_mm,
                second_resolution=gauges[1].resolution_mm,
                confidence=1.0 - risk,
            )
            for risk in (_RISK / len(of), _RISK)
        )
        yield PointFound(
            point=point,
            pairs=len(each),
            mean=jointly if isinstance(jointly, NotYet) else jointly.mean,
            spread=alone if isinstance(alone, NotYet) else alone.spread,
        )


def _apart(points: Sequence[PointFound]) -> Interval | None:
    """All means lie in their intervals together, so the largest less the smallest does in this."""
    means = [one.mean for one in points if isinstance(one.mean, Estimate)]
    if len(means) < 2:
        return None
    low = max(one.low for one in means) - min(one.high for one in means)
    high = max(one.high for one in means) - min(one.low for one in means)
    return Interval(low=max(low, 0.0), high=high, confidence=1.0 - _RISK)
