"""Imports go only where the table of rooms in DEVELOPERS.md allows, and nowhere else."""

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "hostctl"
LEAVES = {"deeds", "records", "errors", "observers", "plugins"}
NO_LEAVES = {"protocol", "metrology"}  # they import nothing of ours at all
OUTSIDE = {"protocol": set[str](), "metrology": {"numpy"}}
NO_CLOCK_NO_CHANCE_NO_IO = {"asyncio", "time", "random", "sqlite3", "serial", "logging"}
STANDARD = set(sys.stdlib_module_names)


def allowed_by_the_table() -> dict[str, set[str] | None]:
    """The rows of the table; None: everything."""
    section = (ROOT / "DEVELOPERS.md").read_text().split("## Rooms")[1].split("\n## ")[0]
    allowed: dict[str, set[str] | None] = {}
    for names, may in re.findall(r"^\| (`[^|]+`) \|[^|]+\| ([^|]+) \|$", section, re.MULTILINE):
        rooms = {"everything": None, "nothing": set[str]()}.get(may.strip(), set(may.split(", ")))
        allowed |= {name: rooms for name in re.findall(r"`(\w+)`", names)}
    return allowed


ALLOWED = allowed_by_the_table()
ROOMS = sorted(
    path.stem
    for path in PACKAGE.iterdir()
    if (path.suffix == ".py" or (path / "__init__.py").is_file())
    and path.stem not in LEAVES | {"__init__", "__main__"}
)


def modules_of(room: str) -> Iterator[Path]:
    single = PACKAGE / f"{room}.py"
    yield from [single] if single.is_file() else sorted((PACKAGE / room).rglob("*.py"))


def imported_by(room: str) -> set[str]:
    """Every module imported anywhere in the room, in functions too."""
    found: set[str] = set()
    for path in modules_of(room):
        for node in ast.walk(ast.parse(path.read_text())):
            match node:
                case ast.Import(names=names):
                    found |= {name.name for name in names}
                case ast.ImportFrom(module=str(module), level=0, names=names):
                    found |= {f"{module}.{name.name}" for name in names}
                case ast.ImportFrom(level=level) if level:
                    pytest.fail(f"{path} has a relative import")
                case _:
                    pass
    return found


def rooms_imported_by(room: str) -> set[str]:
    ours = {name.split(".")[1] for name in imported_by(room) if name.startswith("hostctl.")}
    return ours - {room}


def test_the_table_was_found():
    assert {"run", "metrology", "cli"} <= set(ALLOWED)


@pytest.mark.parametrize("room", ROOMS)
def test_each_room_on_disk_is_in_the_table(room: str):
    assert room in ALLOWED


@pytest.mark.parametrize("room", [room for room in ROOMS if ALLOWED.get(room) is not None])
def test_a_room_imports_only_what_it_may(room: str):
    leaves = set() if room in NO_LEAVES else LEAVES
    assert rooms_imported_by(room) - leaves <= (ALLOWED[room] or set())


@pytest.mark.parametrize("leaf", sorted(LEAVES))
def test_a_leaf_imports_no_room(leaf: str):
    assert rooms_imported_by(leaf) <= LEAVES


@pytest.mark.parametrize("room", sorted(OUTSIDE))
def test_pure_rooms_use_no_clock_no_chance_and_no_input_or_output(room: str):
    tops = {name.split(".")[0] for name in imported_by(room)} - {"hostctl"}
    assert not tops & NO_CLOCK_NO_CHANCE_NO_IO
    assert tops - STANDARD <= OUTSIDE[room]


@pytest.mark.parametrize("room", ROOMS)
def test_the_package_never_imports_the_simulators(room: str):
    assert "hostctl_simulators" not in {name.split(".")[0] for name in imported_by(room)}
