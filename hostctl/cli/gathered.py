"""All that a command is to analyse: runs, files and reports of others, taken together."""

from argparse import Namespace
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from hostctl.cli.asked_before import asked_there, asks_otherwise, held_again, look_as_it_was
from hostctl.cli.database import chosen_database
from hostctl.cli.sources import (
    aim_of,
    as_it_stands,
    check_once,
    held_against,
    is_report,
    is_run,
    material_of,
    rig_of,
    rigs_differ,
    wish_of,
)
from hostctl.report.analysis.analysis import Wish
from hostctl.report.sources.material import Material, only, together

if TYPE_CHECKING:
    from hostctl.report.enclosed.enclosure import Enclosure
    from hostctl.report.enclosed.sourced import Sourced
    from hostctl.report.trueness.aimed import Aim

_OWN_RIGS = (
    "The readings are of several workshops, each with a rig of its own, so none is taken out. "
    "One by one, each has its own taken out; --rig names one for all."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Readings of one method or operator alone, held apart by what, and held against which gap.
    None for all, together, and against what they are by themselves."""

    method: str | None
    operator: str | None
    apart: str | None
    aim: "Aim | None"


@dataclass(frozen=True, slots=True, kw_only=True)
class Gathered:
    """Readings, the rig to take out, and how to judge them.

    chosen: what was asked for of them: of a report that is reckoned again, what was asked there.
    alone: the one report that is reckoned again just as it was asked; None for anything else.
    remarks: what is to be said of the reports as files.
    sources, rig_source: what `material` and `rig` are made of, with every reading; empty and None
    where the rows were not asked for.
    """

    material: Material
    rig: Material | None
    wish: Wish
    chosen: Chosen
    alone: "Enclosure | None" = None
    remarks: tuple[str, ...] = ()
    sources: "tuple[Sourced, ...]" = ()
    rig_source: "Sourced | None" = None

    @property
    def has_remarks(self) -> bool:
        """Whether there may be any."""
        return self.alone is not None or bool(self.remarks)

    def remarks_on(self, now: Mapping[str, Any]) -> tuple[str, ...]:
        """The remarks, and what a report says otherwise. now: the analysis as plain data."""
        if self.alone is None:
            return self.remarks
        from hostctl.report.enclosed.differences import differing
        from hostctl.store.file.program import program

        otherwise = differing(self.alone.found, now, self.alone.program, program())
        return (*self.remarks, otherwise) if otherwise else self.remarks


def gathered(args: Namespace, *, with_rows: bool = False) -> Gathered:
    """What the command line names. with_rows: with every reading as it was taken.

    Raises StoreError, DataError, UsageError.
    """
    check_once(args)
    reports = [source for source in args.sources if is_report(source)]
    if reports:
        from hostctl.report.enclosed.reading import enclosed_of

        read = {source: enclosed_of(Path(source)) for source in reports}
        return _with_reports(args, read)
    if with_rows:
        return _with_rows(args)
    materials = [material_of(args, source) for source in args.sources]
    material = _noted(args, materials)
    return Gathered(
        material=material,
        rig=rig_of(args, materials, material),
        wish=wish_of(args, material),
        chosen=_chosen(args),
    )


def _chosen(args: Namespace) -> Chosen:
    """Not every command can hold them apart."""
    by = getattr(args, "apart", None)
    return Chosen(method=args.method, operator=args.operator, apart=by, aim=aim_of(args))


def _with_rows(args: Namespace) -> Gathered:
    sources = tuple(_source(args, source) for source in args.sources)
    materials = [source.material for source in sources]
    material = _noted(args, materials, sources=sources)
    rig = rig_of(args, materials, material)
    return Gathered(
        material=material,
        rig=rig,
        wish=wish_of(args, material),
        chosen=_chosen(args),
        sources=sources,
        rig_source=_rig_source(args, rig),
    )


def _source(args: Namespace, source: str) -> "Sourced":
    from hostctl.report.enclosed.sourced import sourced_material, sourced_run

    if is_run(source):
        of = sourced_run(chosen_database(args), int(source))
    else:
        of = sourced_material(as_it_stands(args, source))
    return replace(of, material=held_against(of.material, aim_of(args)))


def _rig_source(args: Namespace, rig: Material | None) -> "Sourced | None":
    """A rig check with every reading of it, and with its notes as they are said of these."""
    if rig is None:
        return None
    from hostctl.report.enclosed.sourced import sourced_material, sourced_run

    if not rig.seen:
        return sourced_material(rig)
    return replace(sourced_run(chosen_database(args), rig.seen[0].run), material=rig)


def _noted(
    args: Namespace,
    materials: list[Material],
    rig: Material | None = None,
    sources: "Sequence[Sourced]" = (),
) -> Material:
    """All as one, with a note where they have no rig in common and none is named.

    sources: of each, where runs, weeks or machines may be wanted apart."""
    material = _as_one(args, materials, sources)
    notes = [*_choices(args, materials, material), *_namesakes(args, material)]
    if rig is None and args.rig is None and rigs_differ(materials):
        notes.insert(0, _OWN_RIGS)
    return replace(material, notes=(*notes, *material.notes))


def _choices(args: Namespace, materials: list[Material], material: Material) -> Iterator[str]:
    """What whoever asked picked out: of many that are tried, some one always looks good."""
    if args.method is not None or args.operator is not None:
        there = len({(b.method, b.operator) for one in materials for b in one.blocks})
        taken = len({(b.method, b.operator) for b in material.blocks})
        if taken < there:
            yield f"Picked out by whoever asked: {taken} of {there} pairs of method and hands."
    own = material.goal
    if own is not None and args.tolerance not in (None, own.within_mm):
        yield (
            f"The study's own tolerance is ±{own.within_mm:g} mm; ±{args.tolerance:g} mm was asked "
            "for here."
        )


def _namesakes(args: Namespace, material: Material) -> Iterator[str]:
    """Hands of one name in several workshops, which may be anybody's; letters surely are."""
    if getattr(args, "apart", None) is not None:
        return
    where: dict[str, set[str]] = {}
    for block in material.blocks:
        where.setdefault(block.operator, set()).add(block.workshop)
    shared = sorted(name for name, shops in where.items() if name and len(shops) > 1)
    if shared:
        yield (
            f"In several workshops there are hands called {', '.join(shared)}: here each name is "
            "taken for one person. hostctl report holds them apart: --apart machine."
        )


def _as_one(args: Namespace, materials: list[Material], sources: "Sequence[Sourced]") -> Material:
    by = getattr(args, "apart", None)
    if by is None:
        return only(together(materials), args.method, args.operator)
    from hostctl.report.sources.apart import apart

    began = [one.account.started_at if one.account is not None else None for one in sources]
    return apart(materials, by, began, method=args.method, operator=args.operator)


def _with_reports(args: Namespace, reports: Mapping[str, "Enclosure"]) -> Gathered:
    remarks = tuple(f"{file}: {said}" for file, one in reports.items() for said in one.remarks)
    if len(args.sources) > 1:
        return replace(_several(args, reports), remarks=remarks)
    (report,) = reports.values()
    return replace(_again(args, report), remarks=remarks)


def _several(args: Namespace, reports: Mapping[str, "Enclosure"]) -> Gathered:
    from hostctl.report.enclosed.pooled import look_after, pooled, shared_rig

    others = {one: (_source(args, one),) for one in args.sources if one not in reports}
    aimed = {file: held_again(one, aim_of(args) or one.asked.aim) for file, one in reports.items()}
    taken = pooled(aimed, [source.material for (source,) in others.values()])
    known = others | taken
    sources = tuple(each for source in args.sources for each in known[source])
    materials = [source.material for source in sources]
    shared = None if others else shared_rig(reports)
    rig = None if shared is None else shared.material
    material = _noted(args, materials, rig, sources)
    wish = wish_of(args, material)
    if args.rig is not None:
        rig = rig_of(args, materials, material)
        shared = _rig_source(args, rig)
    return Gathered(
        material=material,
        rig=rig,
        wish=replace(wish, look=look_after(list(reports.values()), wish.look)),
        chosen=_chosen(args),
        sources=sources,
        rig_source=shared,
    )


def _again(args: Namespace, read: "Enclosure") -> Gathered:
    """One report as it was asked, but for what is asked otherwise now."""
    asked = read.asked
    here = asked_there(args, asked)
    report = held_again(read, aim_of(here))
    materials = [source.material for source in report.sources]
    rig, rig_source = report.rig.material if report.rig is not None else None, report.rig
    material = _noted(here, materials, rig, report.sources)
    material = replace(material, goal=asked.goal or material.goal)
    if args.rig is not None:
        rig = rig_of(here, materials, material)
        rig_source = _rig_source(here, rig)
    return Gathered(
        material=material,
        rig=rig,
        wish=replace(wish_of(here, material), look=look_as_it_was(args.looks, asked.look)),
        chosen=_chosen(here),
        alone=None if asks_otherwise(args) else report,
        sources=report.sources,
        rig_source=rig_source,
    )
