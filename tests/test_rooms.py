"""Imports go only where the tables of rooms and wings in DEVELOPERS.md allow, and nowhere else."""

import pytest
from house import (
    PACKAGES,
    circles,
    listed,
    module_edges,
    modules,
    outside,
    table,
    wing_edges,
    wings,
    within,
)

LEAVES = {"choices", "deeds", "errors", "news", "observers", "plugins", "records", "turns"}
NO_LEAVES = {"protocol", "metrology"}  # they import nothing of ours at all
WOVEN = {
    "channels",  # the parts of the page know each other, and so do those of the messages
    "run",  # a procedure sees what was kept, and what was kept holds its decisions
}
NO_CLOCK_NO_CHANCE_NO_IO = {"asyncio", "time", "random", "sqlite3", "serial", "logging"}

ROOMS = sorted(
    path.stem
    for path in PACKAGES["hostctl"].iterdir()
    if (path.suffix == ".py" or (path / "__init__.py").is_file())
    and path.stem not in LEAVES | {"__init__", "__main__"}
)
ALLOWED = table("Rooms")
WINGS = table("Wings")
WINGS_THAT_MAY = {"metrology": table("Wings of metrology"), "report": table("Wings of report")}
EVERY_WING = [*WINGS, *(wing for wings_of in WINGS_THAT_MAY.values() for wing in wings_of)]


def imported_by(room: str) -> set[str]:
    """Every module imported anywhere in the room, in functions too."""
    return {
        name
        for module in modules("hostctl")
        if within(module.name.removeprefix("hostctl.").replace(".", "/"), room)
        for name in module.imports
    }


def rooms_imported_by(room: str) -> set[str]:
    ours = {name.split(".")[1] for name in imported_by(room) if name.startswith("hostctl.")}
    return ours - {room}


def test_the_tables_were_found():
    assert {"run", "metrology", "cli"} <= set(ALLOWED)
    assert {"run/holds", "metrology/basis", "simulators/board"} <= set(EVERY_WING)


def test_the_table_of_rooms_names_what_is_on_the_disk():
    assert sorted(ALLOWED) == ROOMS


@pytest.mark.parametrize("room", [room for room in ROOMS if ALLOWED.get(room) != "everything"])
def test_a_room_imports_only_what_it_may(room: str):
    leaves = set() if room in NO_LEAVES else LEAVES
    assert rooms_imported_by(room) - leaves <= listed(ALLOWED[room])


@pytest.mark.parametrize("leaf", sorted(LEAVES))
def test_a_leaf_imports_no_room(leaf: str):
    assert rooms_imported_by(leaf) <= LEAVES


def test_the_tables_of_wings_name_what_is_on_the_disk():
    assert sorted(EVERY_WING) == sorted(wings())


@pytest.mark.parametrize("room", sorted(WINGS_THAT_MAY))
def test_a_wing_imports_the_wings_that_its_row_lists_and_no_other(room: str):
    found = wing_edges("hostctl", room)
    told = WINGS_THAT_MAY[room].items()
    assert found == {wing: {f"{room}/{one}" for one in listed(may)} for wing, may in told}


@pytest.mark.parametrize(
    ("package", "room"),
    [*(("hostctl", room) for room in ROOMS if room not in WOVEN), ("hostctl_simulators", "")],
)
def test_no_wings_of_a_room_lead_to_each_other_in_a_circle(package: str, room: str):
    assert circles(wing_edges(package, room)) == []


@pytest.mark.parametrize("package", sorted(PACKAGES))
def test_no_modules_lead_to_each_other_in_a_circle(package: str):
    assert circles(module_edges(package)) == []


def test_a_circle_would_be_seen():
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"a", "d"}, "d": set()}) == [["a", "b", "c"]]


@pytest.mark.parametrize("room", sorted(NO_LEAVES))
def test_pure_rooms_use_no_clock_no_chance_and_no_input_or_output(room: str):
    tops = {name.split(".")[0] for name in imported_by(room)} - {"hostctl"}
    assert not tops & NO_CLOCK_NO_CHANCE_NO_IO


def test_the_package_never_imports_the_simulators():
    assert not [module.name for module in modules("hostctl") if _simulators_in(module.imports)]


def _simulators_in(imports: frozenset[str]) -> bool:
    return any(name.split(".")[0] == "hostctl_simulators" for name in imports)


THIRD_PARTY = {package: listed(cell) for package, cell in table("Third-party packages").items()}
USERS = [
    (package, f"{prefix}{module.place}")
    for name, prefix in (("hostctl", ""), ("hostctl_simulators", "simulators/"))
    for module in modules(name)
    for package in outside(module)
]


def test_third_party_packages_are_imported_only_where_the_table_says():
    strays = {
        (package, place)
        for package, place in USERS
        if not any(within(place, may) for may in THIRD_PARTY.get(package, ()))
    }
    assert strays == set()


def test_the_table_of_third_party_packages_lists_no_place_that_needs_none():
    idle = {
        (package, may)
        for package, places in THIRD_PARTY.items()
        for may in places
        if not any(package == used and within(place, may) for used, place in USERS)
    }
    assert idle == set()


def test_scipy_is_an_oracle_of_the_tests_alone():
    assert "scipy" not in {package for package, _ in USERS} | set(THIRD_PARTY)
