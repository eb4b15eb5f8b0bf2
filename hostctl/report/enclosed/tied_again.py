"""A run's readings made gaps again, by the ties that its report encloses."""

from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from math import isnan
from typing import Any

from hostctl.config.yaml_text import Source, parse
from hostctl.errors import ConfigError
from hostctl.metrology.basis.estimate import NotEnough
from hostctl.report.enclosed.parts import Part, Unfit
from hostctl.report.enclosed.sourced import Account, Rows
from hostctl.report.enclosed.tie_checked import check_study
from hostctl.report.enclosed.values import columns_of, values_of
from hostctl.report.sources.gaps import as_gaps
from hostctl.report.sources.material import Material
from hostctl.report.sources.tie_record import (
    Counting,
    Recorded,
    TieReading,
    counting_rows,
    is_of_tie,
)

MOST_TEXT = 200_000
"""Letters of a study that are read."""

_START = datetime(1970, 1, 1, tzinfo=UTC)


def goes_by_the_gap(account: Account) -> bool:
    """Whether its study wanted the true gap. Raises Unfit where its text can't be read."""
    return _study_of(account).get("reference") == "gap"


def tied_again(
    as_read: Material,
    account: Account,
    rows: Rows,
    at: str,
) -> Material:
    """As `run_material` makes gaps of them. at: where the account stands. Raises Unfit."""
    study = _study_of(account)
    check_study(Part(dict(study), f"{at}.study_text"))
    of_tie = [is_of_tie(group) for group in rows.groups]
    counting = list(counting_rows(columns_of(rows)))
    recorded = Recorded(
        study=study,
        groups=rows.groups,
        ties=tuple(_tie_readings(rows, [one for one in counting if of_tie[one.group]])),
        settings=tuple(one.row for one in counting if not of_tie[one.group]),
        events=account.events,
        settings_bed_c=_settings_bed_c(rows, of_tie),
    )
    values = values_of(rows, with_ties=False)
    try:
        found = as_gaps(as_read, recorded, values, lambda: counting)
    except (NotEnough, ValueError) as why:
        raise Unfit(f"the tie in {at} can't be worked out: {why}") from why
    return found if found.tied is not None else as_read  # which has a note of why already


def _study_of(account: Account) -> Mapping[str, Any]:
    """The study's file as plain data; empty where it names no gap."""
    text = account.study_text
    if "gap" not in text or len(text) > MOST_TEXT:
        return {}  # spares loading YAML
    try:
        study = parse(Source(account.study, text)).data
    except ConfigError as why:
        raise Unfit(f"the study's text can't be read: {why.what}") from why
    return study if isinstance(study, dict) else {}


def _tie_readings(rows: Rows, counting: list[Counting]) -> Iterator[TieReading]:
    known = dict(zip(rows.of_ties, rows.tie_resolution_mm, strict=True))
    for one in counting:
        at_ms = None if rows.taken_at_ms is None else rows.taken_at_ms[one.row]
        yield TieReading(
            *one,
            known[one.row],
            None if at_ms is None else _START + timedelta(milliseconds=at_ms),
            _known(rows, one.row),
        )


def _settings_bed_c(rows: Rows, of_tie: list[bool]) -> tuple[float, float] | None:
    found = (_known(rows, row) for row, group in enumerate(rows.group) if not of_tie[group])
    known = [one for one in found if one is not None]
    return (min(known), max(known)) if known else None


def _known(rows: Rows, row: int) -> float | None:
    celsius = None if rows.bed_c is None else rows.bed_c[row]
    return None if celsius is None or isnan(celsius) else celsius
