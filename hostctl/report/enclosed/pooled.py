"""Reports of several workshops taken together, each knowing which readings are whose.

A workshop is a machine with its hands. It is called as its machine is; where two files name theirs
alike, by the file too, since nothing says that the machines are one. But one rig check in both is
evidence that they are: its readings can't be two machines'.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from hostctl.errors import DataError
from hostctl.metrology.claims.looks import Looks
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.enclosed.sourced import Sourced, of_workshop
from hostctl.report.sources.looks import Looking
from hostctl.report.sources.material import Material

_RigCheck = tuple[str, list[list[float]]]
_Owner = _RigCheck | str

_NAMED_ALIKE = (
    "Another source names its machine {machine} too. Nothing says that they are one, so each is "
    "taken as a workshop of its own; runs of one machine belong into one report."
)


def pooled(
    reports: Mapping[str, Enclosure], others: Sequence[Material]
) -> dict[str, tuple[Sourced, ...]]:
    """The sources of each report, called by its file, their readings said to be of their workshop.

    reports: by the file as it was named.  others: what is analysed with them.
    Raises DataError where the same readings come twice.
    """
    called = _called(list(reports))
    taken = {
        file: tuple(_named(source, called[file], enclosure) for source in enclosure.sources)
        for file, enclosure in reports.items()
    }
    _check_once(taken, others)
    owners = _owners(reports, taken, others)
    return {
        file: tuple(
            _placed(source, owners[_label(source.material)], _owner(file, reports[file]), called)
            for source in sources
        )
        for file, sources in taken.items()
    }


def shared_rig(reports: Mapping[str, Enclosure]) -> Sourced | None:
    """The rig check that all of them took out, where it is one."""
    first, *others = reports.values()
    if first.rig is None or any(_rig_check(one) != _rig_check(first) for one in others):
        return None
    return first.rig


def look_after(reports: Sequence[Enclosure], own: Looking) -> Looking:
    """The look at the readings of reports together. Each was looked at: of the risk there is left
    what is left in the one that has least, and of what is looked at besides, which is `own`."""
    looks = [one.asked.look.looks for one in reports if one.asked.goal is not None]
    if not looks:
        return own
    agreed = {look.declared for look in looks}
    earlier = sum(look.number for look in looks)
    return replace(
        own,
        looks=Looks(
            number=own.looks.number + earlier,
            declared=agreed.pop() if len(agreed) == 1 else None,
            spent=max(own.looks.spent, *(look.next.spent for look in looks)),
        ),
        earlier=(own.earlier or 0) + earlier,
    )


def _called(files: Sequence[str]) -> dict[str, str]:
    """Each file's name; where several are called alike, as they were named."""
    names = [Path(file).name for file in files]
    return {
        file: name if names.count(name) == 1 else file
        for file, name in zip(files, names, strict=True)
    }


def _named(source: Sourced, file: str, enclosure: Enclosure) -> Sourced:
    name = file if len(enclosure.sources) == 1 else f"{file} {source.material.name}"
    return replace(source, material=replace(source.material, name=name))


def _check_once(taken: Mapping[str, Sequence[Sourced]], others: Sequence[Material]) -> None:
    """Raises DataError: the same readings counted twice would look like twice the evidence."""
    known = list(others)
    for file, sources in taken.items():
        for source in sources:
            twin = next((one for one in known if _is_same(one, source.material)), None)
            if twin is not None:
                what = f"holds the same readings as {twin.name}"
                raise DataError(file, what, "Name each run's readings once.")
            known.append(source.material)


def _is_same(one: Material, other: Material) -> bool:
    """Whether it is one run, though one may have come further: same title, same beginning."""
    first, second = list(one.blocks[0].values_mm), list(other.blocks[0].values_mm)
    shared = min(len(first), len(second))
    return one.title == other.title and first[:shared] == second[:shared]


def _label(material: Material) -> str:
    return material.machine or material.name


def _owners(
    reports: Mapping[str, Enclosure],
    taken: Mapping[str, Sequence[Sourced]],
    others: Sequence[Material],
) -> dict[str, list[tuple[_Owner, str]]]:
    """Of each machine's name, who uses it, with the first file of theirs; no report is one too."""
    owners: dict[str, list[tuple[_Owner, str]]] = {}
    for file, sources in taken.items():
        owner = _owner(file, reports[file])
        for label in {_label(source.material) for source in sources}:
            if all(owner != known for known, _ in owners.setdefault(label, [])):
                owners[label].append((owner, file))
    for label in {_label(material) for material in others}:
        owners.setdefault(label, []).append(("", ""))
    return owners


def _owner(file: str, enclosure: Enclosure) -> _Owner:
    """The rig check, however many files have it; or the file itself."""
    return _rig_check(enclosure) or file


def _rig_check(enclosure: Enclosure) -> _RigCheck | None:
    """What tells it from any other."""
    if enclosure.rig is None:
        return None
    material = enclosure.rig.material
    return material.title, [list(block.values_mm) for block in material.blocks]


def _placed(
    source: Sourced, owners: Sequence[tuple[_Owner, str]], mine: _Owner, called: Mapping[str, str]
) -> Sourced:
    material = source.material
    machine = _label(material)
    if len(owners) == 1:
        return of_workshop(source, machine)
    file = next(file for owner, file in owners if owner == mine)
    placed = of_workshop(source, f"{machine} ({called[file]})")
    if owners[0][0] != mine:
        return placed
    notes = (*material.notes, _NAMED_ALIKE.format(machine=machine))
    return replace(placed, material=replace(placed.material, notes=notes))
