"""How a run was carried out: what its files planned, how warm it was, what does not count."""

from collections.abc import Iterator, Sequence
from math import isnan
from typing import TYPE_CHECKING

from hostctl.config.grid import level_points
from hostctl.config.load import machine_from, study_from
from hostctl.config.machine import Machine
from hostctl.config.parts.tie import Tie
from hostctl.config.study import Study
from hostctl.config.study_kind import words_of
from hostctl.config.yaml_text import Source
from hostctl.errors import HostctlError
from hostctl.report.enclosed.sourced import Account, RowGroup, Sourced
from hostctl.report.whole.found.path import path_of
from hostctl.report.whole.result import Conduct, Left, MethodCard, Planned, TiePlanned
from hostctl.store.rows import NewMark

if TYPE_CHECKING:
    from array import array

MOST_TEXT = 200_000
"""Letters of a file that are read: whoever sends a report chose them."""

_HOLDS = ("hold", "stopped")
_SIMULATED = "sim:"


def conduct_of(source: Sourced) -> Conduct | None:
    """None of a file, of which nothing is known."""
    account = source.account
    if account is None:
        return None
    return Conduct(
        name=source.material.name,
        study=account.study,
        kind=account.kind,
        machine=account.machine,
        program=account.program,
        seed=str(account.seed),
        started_at=account.started_at,
        ended_at=account.ended_at,
        complete=account.complete,
        end_reason=account.end_reason,
        planned=_planned(account),
        bed_c=_reach(source.rows.bed_c),
        nozzle_c=_reach(source.rows.nozzle_c),
        left=tuple(sorted(_left(account, source.rows.groups), key=lambda one: one.at)),
    )


def _planned(account: Account) -> Planned | None:
    """What the files say; None where they are not to be read, as those of an older version."""
    if max(len(account.study_text), len(account.machine_text)) > MOST_TEXT:
        return None
    try:
        study = study_from(Source("study", account.study_text))
        machine = machine_from(Source("machine", account.machine_text))
    except HostctlError:
        return None
    return _as_filed(study, machine)


def _as_filed(study: Study, machine: Machine) -> Planned:
    turn, gauge = study.cycle.turn_away, study.gauge
    tool = machine.probe if gauge.kind == "probe" else None
    zeroed = words_of(study.kind).takes_zeros  # others hold their readings against each other
    return Planned(
        methods=tuple(
            MethodCard(name=one.name, instruction=one.instruction) for one in study.methods
        ),
        operators=tuple(study.operators),
        points=tuple(level_points(study)),
        trials=study.trials,
        order=study.order.value if zeroed else "",
        reference=study.reference.value if zeroed else "",
        gauge=gauge.kind,
        resolution_mm=tool.resolution_mm if tool else gauge.resolution_mm,
        settle_s=study.cycle.settle_s,
        turn_away_deg=(turn.least_deg, turn.most_deg) if turn and study.methods else None,
        clear_z_mm=machine.clear_z_mm,
        warm_bed_c=study.warmth.bed_c if study.warmth else None,
        simulated=machine.port.startswith(_SIMULATED),
        path=path_of(study, machine) if zeroed else (),
        tie=_tie(study.tie) if study.tie else None,
    )


def _tie(tie: Tie) -> TiePlanned:
    return TiePlanned(
        by=tie.by.value,
        contact=tie.contact.value if tie.contact else None,
        points=tuple(tie.points or ()),
        times=tie.times,
        checks=tie.checks,
        check_times=tie.check_times,
        floor_below_mm=tie.floor_below_mm,
        coarse_mm=tie.coarse_mm,
        fine_mm=tie.fine_mm,
    )


def _reach(celsius: "array[float] | None") -> tuple[float, float] | None:
    known = [one for one in celsius or () if not isnan(one)]
    return (min(known), max(known)) if known else None


def _left(account: Account, groups: tuple[RowGroup, ...]) -> Iterator[Left]:
    for mark in account.marks:
        where = _where(mark, [one for one in groups if _is_of(one, mark)])
        yield Left(what=mark.mark, where=where, why=mark.reason, at=mark.at)
    for event in account.events:
        if event.kind in _HOLDS:
            yield Left(what="hold", where="", why=event.text, at=event.at)


def _is_of(group: RowGroup, mark: NewMark) -> bool:
    return (group.block, group.round) == (mark.block, mark.round)


def _where(mark: NewMark, groups: Sequence[RowGroup]) -> str:
    """groups: those of its block; a mark does not say at which of several points it was."""
    trial = "all trials" if mark.trial is None else f"trial {mark.trial}"
    again = f", attempt {mark.attempt}" if mark.attempt is not None and mark.attempt > 1 else ""
    block = f"block {mark.block}{f' ({mark.round})' if mark.round > 1 else ''}, {trial}{again}"
    if not groups:
        return block
    group = groups[0]
    hands = f" by {group.operator}" if group.operator else ""
    at = f" at {group.point}" if len(groups) == 1 else ""
    return f"{block}: {group.method}{hands}{at}"
