"""What the house is made of: its modules, what each imports, and the tables of DEVELOPERS.md."""

import ast
import subprocess
import sys
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGES = {
    "hostctl": ROOT / "hostctl",
    "hostctl_simulators": ROOT / "simulators/hostctl_simulators",
}
STANDARD = set(sys.stdlib_module_names)


@dataclass(frozen=True, slots=True)
class Module:
    """name: dotted. place: of its folder below the package, as `report/analysis`; empty at the top.
    imports: every module or name imported anywhere in it, in functions and for types alone too."""

    name: str
    path: Path
    place: str
    imports: frozenset[str]


@cache
def loaded_by(program: str) -> set[str]:
    """The modules that a program loads, in a fresh interpreter: this one has more."""
    said = f"{program}\nimport sys\nprint(*sys.modules, sep='\\n')"
    done = subprocess.run([sys.executable, "-c", said], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


@cache
def modules(package: str) -> tuple[Module, ...]:
    """Every module of the package."""
    return tuple(_module(package, path) for path in sorted(PACKAGES[package].rglob("*.py")))


def _module(package: str, path: Path) -> Module:
    below = path.relative_to(PACKAGES[package])
    parts = [part for part in below.with_suffix("").parts if part != "__init__"]
    place = below.parent.as_posix().removeprefix(".")
    imports = frozenset(imported_in(ast.parse(path.read_text()), path))
    return Module(".".join([package, *parts]), path, place, imports)


def imported_in(tree: ast.AST, path: Path) -> Iterator[str]:
    """Dotted names. Raises AssertionError for a relative import: it would hide where it goes."""
    for node in ast.walk(tree):
        match node:
            case ast.Import(names=names):
                yield from (name.name for name in names)
            case ast.ImportFrom(module=str(module), level=0, names=names):
                yield from (f"{module}.{name.name}" for name in names)
            case ast.ImportFrom():
                raise AssertionError(f"{path} has a relative import")
            case _:
                pass


def folders() -> list[Path]:
    """Every folder of the rooms, those that hold no modules too, and of the simulators."""
    simulators = PACKAGES["hostctl_simulators"]
    below = [path for top in PACKAGES.values() for path in top.rglob("*") if path.is_dir()]
    return sorted(path for path in (simulators, *below) if path.name != "__pycache__")


def places(package: str) -> set[str]:
    """Where modules lie below the top: rooms, and wings such as `report/analysis`."""
    return {module.place for module in modules(package)} - {""}


def wings() -> set[str]:
    """Each folder of modules in a room, and each of the simulators, as `simulators/board`."""
    ours = {place for place in places("hostctl") if "/" in place}
    return ours | {f"simulators/{place}" for place in places("hostctl_simulators")}


def outside(module: Module) -> set[str]:
    """The third-party packages that it imports."""
    return {name.split(".")[0] for name in module.imports} - STANDARD - set(PACKAGES)


def within(place: str, other: str) -> bool:
    """Whether a place is another, or lies below it; everything lies below the top."""
    return not other or place == other or place.startswith(f"{other}/")


def circles(edges: Mapping[str, Iterable[str]]) -> list[list[str]]:
    """The groups whose members lead to each other. Tarjan, 1972: strongly connected components."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(one: str) -> None:
        order[one] = low[one] = len(order)
        stack.append(one)
        for other in edges.get(one, ()):
            if other not in order:
                visit(other)
            if other in stack:
                low[one] = min(low[one], low[other])
        if low[one] == order[one]:
            at = stack.index(one)
            if len(group := stack[at:]) > 1:
                found.append(sorted(group))
            del stack[at:]

    for one in edges:
        if one not in order:
            visit(one)
    return found


@cache
def module_edges(package: str) -> dict[str, set[str]]:
    """Which module leads to which; the packages above a module do not count, they are empty."""
    names = {module.name for module in modules(package)}
    return {module.name: _targets(module, names) - {module.name} for module in modules(package)}


def _targets(module: Module, names: set[str]) -> set[str]:
    return {
        target
        for name in module.imports
        if (target := name if name in names else name.rpartition(".")[0]) in names
    }


def wing_edges(package: str, room: str) -> dict[str, set[str]]:
    """Which wing of the room leads to which. A room of the simulators is all of them: empty."""
    place = {module.name: module.place for module in modules(package)}
    edges = {one: set[str]() for one in places(package) if within(one, room) and one != room}
    for name, targets in module_edges(package).items():
        if place[name] in edges:
            edges[place[name]] |= {place[target] for target in targets} & set(edges)
    return {wing: targets - {wing} for wing, targets in edges.items()}


def table(section: str) -> dict[str, str]:
    """The rows of the tables in a section of DEVELOPERS.md: what is named, and the last cell."""
    text = (ROOT / "DEVELOPERS.md").read_text().split(f"\n## {section}\n")[1].split("\n## ")[0]
    rows = [line.strip("| ").split(" | ") for line in text.splitlines() if line[:3] == "| `"]
    return {row[0].strip("`"): row[-1] for row in rows}


def listed(cell: str) -> set[str]:
    """Names between commas, or `nothing`."""
    return set() if cell == "nothing" else set(cell.split(", "))
