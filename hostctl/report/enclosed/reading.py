"""A report read again: its data taken from the page, checked, and made what they were.

A file may be broken or hostile. Nothing of it is run, what it may take of memory is bounded, and
whatever is wrong with it is one DataError.
"""

from array import array
from dataclasses import replace
from math import nan
from pathlib import Path
from typing import cast

from hostctl.config.study_kind import words_of
from hostctl.errors import DataError
from hostctl.metrology.basis.estimate import Readings
from hostctl.metrology.basis.reference import Reference
from hostctl.metrology.claims.looks import Looks
from hostctl.report.enclosed.enclosure import MOST_READINGS, Asked, Enclosure, RigCheck
from hostctl.report.enclosed.page import data_in
from hostctl.report.enclosed.parts import Part, Unfit, check_depth, parsed
from hostctl.report.enclosed.sourced import COUNTS, Account, RowGroup, Rows, Sourced
from hostctl.report.enclosed.told_of_run import account_from
from hostctl.report.enclosed.values import values_of
from hostctl.report.enclosed.writing import FORMAT, VERSION
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Block, Goal, Material
from hostctl.report.trueness.aimed import Aim
from hostctl.store.judging import relative_mm

_COLUMNS = 9
_MOST_VALUES = (_COLUMNS + 1) * MOST_READINGS
_MOST_CONTAINERS = 1_000_000  # objects and lists: groups, marks, events, what was found
_ASK_AGAIN = "Ask whoever made it for the file again."
_REFERENCES = ("first", "previous", "datum")
_FINEST_MM = 1e-9
_SUREST = 1 - 1e-9


def enclosed_of(path: Path) -> Enclosure:
    """What the report at `path` encloses.

    Raises DataError where it is no report, is broken or too large, where its data don't match their
    hash, or where a later version wrote it.
    """
    found = data_in(path)
    try:
        whole = parsed(found.json_text, _MOST_VALUES, _MOST_CONTAINERS)
        _check_format(path, whole)
        enclosure = _enclosure(whole)
    except Unfit as why:
        raise DataError(str(path), f"its data can't be read: {why}", _ASK_AGAIN) from why
    return replace(enclosure, remarks=found.remarks)


def _check_format(path: Path, whole: Part) -> None:
    if whole.value("format") != FORMAT:
        raise Unfit(f"they are not in the format '{FORMAT}'")
    version = whole.whole("version", low=1)
    if version != VERSION:
        what = (
            f"is in version {version} of the format, made by {whole.text('program')[:80]}; this "
            f"program reads version {VERSION}"
        )
        raise DataError(str(path), what, "Install that version or a later one.")


def _enclosure(whole: Part) -> Enclosure:
    sources = tuple(_sourced(part) for part in whole.parts("sources"))
    if not sources:
        raise Unfit("sources is empty")
    check_depth(whole.value("found"), "found")
    return Enclosure(
        program=whole.text("program"),
        made_at=whole.instant("made_at_utc"),
        sources=sources,
        rig=whole.or_none("rig", lambda key: _sourced(whole.part(key))),
        asked=_asked(whole.part("asked")),
        checks=tuple(_check(part) for part in whole.parts("checks")),
        found=whole.part("found").data,
    )


def _sourced(part: Part) -> Sourced:
    material = part.part("material")
    account = part.or_none("account", lambda key: account_from(part.part(key)))
    groups = tuple(_group(one) for one in part.parts("groups"))
    if len({(group.block, group.round, group.point) for group in groups}) < len(groups):
        raise Unfit(f"{part.at}.groups has a block's round at a point twice")
    rows = _rows(part, groups)
    reference = _reference(material)
    if account is None:
        found = _material(material, reference, rows)
    else:
        rows = replace(rows, relative_mm=_relative(rows, reference))
        found = _of_run(material, reference, account, rows, part.at)
    return Sourced(material=found, account=account, rows=rows)


def _reference(part: Part) -> Reference:
    found = part.text("reference")
    if found not in _REFERENCES:
        raise Unfit(f"{part.at}.reference is none of {', '.join(_REFERENCES)}")
    return cast(Reference, found)


def _of_run(part: Part, reference: Reference, account: Account, rows: Rows, at: str) -> Material:
    """As read; or by its gaps, where it was tied to the nozzle."""
    from hostctl.report.enclosed.tied_again import goes_by_the_gap, tied_again

    if not goes_by_the_gap(account):
        return _material(part, reference, rows)
    as_read = _material(part, reference, rows, with_ties=not words_of(account.kind).people_set)
    return tied_again(as_read, account, rows, f"{at}.account")


def _material(part: Part, reference: Reference, rows: Rows, *, with_ties: bool = True) -> Material:
    values = values_of(rows, with_ties=with_ties)
    blocks = tuple(_block(rows.groups[at], values_mm) for at, values_mm in values)
    if not blocks:
        raise Unfit(f"no reading of {part.at} counts")
    return Material(
        name=part.text("name"),
        title=part.text("title"),
        kind=part.text("kind"),
        machine=part.text("machine"),
        reference=reference,
        zero_known=part.flag("zero_known"),
        own_zeros=part.flag("own_zeros"),
        resolution_mm=part.number("resolution_mm", low=_FINEST_MM),
        resolution_from=part.text("resolution_from"),
        blocks=blocks,
        goal=part.or_none("goal", lambda key: _goal(part.part(key))),
        notes=part.texts("notes"),
    )


def _block(group: RowGroup, values_mm: Readings) -> Block:
    return Block(
        method=group.method,
        operator=group.operator,
        point=group.point,
        values_mm=values_mm,
        workshop=group.workshop,
    )


def _group(part: Part) -> RowGroup:
    return RowGroup(
        block=part.whole("block"),
        round=part.whole("round"),
        method=part.text("method"),
        operator=part.text("operator"),
        point=part.text("point"),
        workshop=part.text("workshop"),
    )


def _rows(part: Part, groups: tuple[RowGroup, ...]) -> Rows:
    rows, voids = part.part("rows"), part.texts("voids")
    value_mm = rows.numbers("value_mm")
    found = Rows(
        groups=groups,
        group=rows.wholes("group", "i", 0, len(groups) - 1),
        trial=rows.wholes("trial", "i", 0),
        attempt=rows.wholes("attempt", "i", 0),
        is_zero=rows.wholes("is_zero", "b", 0, 1),
        value_mm=value_mm,
        relative_mm=value_mm,
        void=rows.wholes("void", "i", COUNTS, len(voids) - 1),
        voids=voids,
        taken_at_ms=rows.or_none("taken_after_ms", rows.instants_ms),
        nozzle_c=rows.or_none("nozzle_c", rows.known_numbers),
        bed_c=rows.or_none("bed_c", rows.known_numbers),
        tie_resolution_mm=_tie_resolution_mm(rows),
    )
    if len(found.tie_resolution_mm) != len(found.of_ties):
        raise Unfit(f"{rows.at}.tie_resolution_mm is not as long as there are readings of ties")
    columns = (found.group, found.trial, found.attempt, found.is_zero, found.value_mm, found.void)
    more = (found.taken_at_ms, found.nozzle_c, found.bed_c)
    if len({len(column) for column in (*columns, *more) if column is not None}) > 1:
        raise Unfit(f"the columns of {rows.at} are of unlike length")
    return found


def _tie_resolution_mm(part: Part) -> "array[float]":
    key = "tie_resolution_mm"
    found = part.numbers(key) if key in part.data else array("d")
    if found and min(found) < _FINEST_MM:
        raise Unfit(f"{part.at}.{key} is not from {_FINEST_MM:g} on")
    return found


def _relative(rows: Rows, reference: Reference) -> "array[float]":
    """Less the last zero of block and round, as the store judges them."""
    zeros_mm = [nan if reference == "first" else 0.0] * len(rows.groups)
    if reference != "previous":
        for is_zero, group, value_mm in zip(rows.is_zero, rows.group, rows.value_mm, strict=True):
            if is_zero:
                zeros_mm[group] = value_mm
    return array("d", relative_mm(rows.value_mm, (zeros_mm[group] for group in rows.group)))


def _goal(part: Part) -> Goal:
    return Goal(
        within_mm=part.number("within_mm", low=_FINEST_MM),
        proportion=part.number("proportion", 0.5, _SUREST),
        confidence=part.number("confidence", 0.5, _SUREST),
    )


def _asked(part: Part) -> Asked:
    look = part.part("look")
    return Asked(
        goal=part.or_none("goal", lambda key: _goal(part.part(key))),
        margin=part.number("margin", low=1.0),
        method=part.or_none("method", part.text),
        operator=part.or_none("operator", part.text),
        apart=part.or_none("apart", part.text),
        aim=_aim(part.part("aim")) if "aim" in part.data else None,
        look=Looking(
            looks=Looks(
                number=look.whole("number", low=1),
                declared=look.or_none("declared", lambda key: look.whole(key, low=1)),
                spent=look.number("spent", 0.0, 2.0),
            ),
            earlier=look.or_none("earlier", look.whole),
            too_late=look.or_none("too_late", look.whole),
        ),
    )


def _aim(part: Part) -> Aim:
    return Aim(
        target_mm=part.or_none("target_mm", lambda key: part.number(key, low=_FINEST_MM)),
        margin_mm=part.or_none("margin_mm", lambda key: part.number(key, low=_FINEST_MM)),
        tie_u_mm=part.or_none("tie_u_mm", lambda key: part.number(key, low=0.0)),
    )


def _check(part: Part) -> RigCheck:
    return RigCheck(
        name=part.text("name"),
        at=part.instant("at_utc"),
        n=part.whole("n"),
        sd_mm=part.or_none("sd_mm", part.number),
        df=part.or_none("df", part.number),
        resolution_mm=part.number("resolution_mm", low=_FINEST_MM),
        mean_mm=part.or_none("mean_mm", part.number),
    )
