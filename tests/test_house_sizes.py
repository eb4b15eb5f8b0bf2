"""No folder, file or function grows past what one takes in at a glance; no name is used twice."""

import ast
from collections import Counter
from collections.abc import Iterator
from functools import cache
from statistics import quantiles

import pytest
from house import PACKAGES, ROOT, Module, folders, modules
from radon.complexity import cc_visit
from radon.visitors import Function

MOST_ENTRIES, MOST_LINES, MOST_COMPLEX = 15, 300, 12
MOST_LINES_OF_A_FUNCTION = 30  # of 95 in 100 of them

CROWDED = {
    "hostctl/cli": "one file a command, so that each is found by its name",
    "hostctl/channels/page/assets": "a file's name is its address on the phone",
}
Definition = ast.FunctionDef | ast.AsyncFunctionDef


def entries(folder: str) -> int:
    return sum(path.name != "__pycache__" for path in (ROOT / folder).iterdir())


@cache
def every_module() -> list[Module]:
    return [module for package in PACKAGES for module in modules(package)]


FOLDERS = [folder.relative_to(ROOT).as_posix() for folder in folders()]


@pytest.mark.parametrize("folder", sorted({*FOLDERS} - {*CROWDED}))
def test_a_folder_has_few_entries(folder: str):
    assert entries(folder) <= MOST_ENTRIES


@pytest.mark.parametrize("folder", sorted(CROWDED))
def test_an_excused_folder_needs_its_excuse(folder: str):
    assert entries(folder) > MOST_ENTRIES


def test_no_file_is_long():
    lines = {module.name: module.path.read_text().count("\n") for module in every_module()}
    assert {name: count for name, count in lines.items() if count > MOST_LINES} == {}


@pytest.mark.slow
def test_no_function_is_winding():
    winding = {
        f"{module.name}.{one.name}"
        for module in every_module()
        for one in cc_visit(module.path.read_text())
        if isinstance(one, Function) and one.complexity > MOST_COMPLEX
    }
    assert winding == set()


@pytest.mark.parametrize("package", sorted(PACKAGES))
def test_most_functions_are_short(package: str):
    lengths = [lines_of(one) for module in modules(package) for one in definitions(module)]
    assert quantiles(lengths, n=20)[-1] <= MOST_LINES_OF_A_FUNCTION


def definitions(module: Module) -> Iterator[Definition]:
    for node in ast.walk(ast.parse(module.path.read_text())):
        if isinstance(node, Definition):
            yield node


def lines_of(one: Definition) -> int:
    """From def to end, less the docstring."""
    docstring = one.body[0] if ast.get_docstring(one) is not None else None
    said = (docstring.end_lineno - docstring.lineno + 1) if docstring else 0
    return one.end_lineno - one.lineno + 1 - said


def test_a_docstring_is_no_length():
    source = 'def one():\n    """Says\n    much."""\n    return 1\n'
    assert lines_of(ast.parse(source).body[0]) == 2


def test_each_test_file_has_a_name_of_its_own():
    names = Counter(path.name for path in (ROOT / "tests").rglob("test_*.py"))
    assert [name for name, count in names.items() if count > 1] == []
