"""With letters no operator's name is left in what is shared, and nothing else is touched."""

import asyncio
import json
from dataclasses import replace
from pathlib import Path

import pytest
from enclosing import bare_page, enclosure_of, enclosure_of_runs, of_workshop, written
from hypothesis import given
from hypothesis import strategies as st
from stored_rows import A_MARK, A_RUN, NOON, reading_at

from hostctl.report.analysis.analysis import Wish, analyse
from hostctl.report.analysis.document import ANALYSIS
from hostctl.report.enclosed.letters import Letters, with_letters
from hostctl.report.enclosed.reading import enclosed_of
from hostctl.report.enclosed.sourced import Sourced, sourced_run
from hostctl.report.enclosed.writing import enclosed_json
from hostctl.report.sources.material import Block, together
from hostctl.store.rows import NewEvent
from hostctl.store.store import Store

NAMES = ("Zoë", "al", "a+b", "Anna-Lena", "Anna", "o'Neil (new)", "метод", "x.*")
VALUES_MM = (0.02, -0.01, 0.03, 0.02, 0.0, 0.01)
STUDY = (
    "study: s\n# Anna is new, anna-lena is not; metal, Annabel and banana stay\noperators: [{}]\n"
)


@pytest.fixture(scope="module")
def database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One run in which names stand wherever they can; Zoë reads first."""
    path = tmp_path_factory.mktemp("named") / "kept.sqlite"
    asyncio.run(_keep(path))
    return path


async def _keep(path: Path) -> None:
    listed = ", ".join(json.dumps(name) for name in (*NAMES, "Late Comer"))
    new = replace(
        A_RUN,
        title="Zoë's study",
        study_text=STUDY.format(listed),
        machine_text="# ANNA's machine\n",
        machine="anna_s-bench",
    )
    async with Store.opened(path) as store:
        run = await store.add_run(new)
        for block, name in enumerate(NAMES, 1):
            for trial, value_mm in enumerate((0.0, *VALUES_MM)):
                row = reading_at(
                    value_mm=value_mm, is_zero=trial == 0, run=run, block=block, trial=trial
                )
                await store.add_reading(replace(row, place=replace(row.place, operator=name)))
        await store.add_mark(replace(A_MARK, run=run, reason="zoë sneezed, o'Neil (new) laughed"))
        data = json.dumps({"place": {"operator": "Guest"}, "said": ["Guest left, a+b stayed"]})
        await store.add_event(
            NewEvent(run=run, at=NOON, kind="hold", text="ANNA-LENA left", data=data)
        )
        ended = '{"complete": true}'
        await store.add_event(NewEvent(run=run, at=NOON, kind="ended", text="by Anna", data=ended))


def test_no_name_is_left_in_the_page(database: Path, tmp_path: Path):
    page = bare_page(with_letters(enclosure_of_runs(database, 1)))
    said = json.dumps(json.loads(_data(page)), ensure_ascii=False).casefold()
    for name in (*NAMES, "Late Comer", "Guest"):
        if name != "al":
            assert name.casefold() not in said.replace("annabel", "").replace("banana", "")
    assert "metal, annabel and banana stay" in said
    back = enclosed_of(written(tmp_path / "a.html", with_letters(enclosure_of_runs(database, 1))))
    assert back.sources[0].account is not None
    assert back.sources[0].account.study_text.splitlines()[1:] == [
        "# E is new, D is not; metal, Annabel and banana stay",
        'operators: ["A", "B", "C", "D", "E", "F", "G", "H", "I"]',
    ]


def _data(page: str) -> str:
    return page[page.index('id="enclosed">') + len('id="enclosed">') : page.index("</script>")]


def test_letters_go_by_who_appears_first(database: Path):
    source = sourced_run(database, 1)
    letters = Letters([source])
    assert list(letters.letter_of) == [*NAMES, "Late Comer", "Guest"]
    assert "".join(letters.letter_of.values()) == "ABCDEFGHIJ"
    shared = letters.sourced(source)
    assert [group.operator for group in shared.rows.groups] == list("ABCDEFGH")
    assert [block.operator for block in shared.material.blocks] == list("ABCDEFGH")
    assert shared.rows.value_mm == source.rows.value_mm


def test_what_is_found_of_letters_is_what_comes_again(database: Path, tmp_path: Path):
    source = sourced_run(database, 1)
    made = enclosure_of([Letters([source]).sourced(source)])
    back = enclosed_of(written(tmp_path / "a.html", made))
    again = analyse(together([one.material for one in back.sources]), None, Wish())
    assert ANALYSIS.data(again)["results"] == made.found["results"]
    assert enclosed_json(with_letters(made)) == enclosed_json(made)


def of(name: str, *notes: str) -> Sourced:
    block = Block(method="slip", operator=name, point="p", values_mm=list(VALUES_MM))
    return of_workshop("m", VALUES_MM, blocks=(block,), notes=notes)


@pytest.mark.parametrize(
    ("name", "note", "becomes"),
    [
        ("anna", "Anna, ANNA's and anna_2.csv", "A, A's and A_2.csv"),
        ("anna", "annabel, Johanna, anna2", "annabel, Johanna, anna2"),
        ("al", "Al sat; al stood", "Al sat; A stood"),
        ("i", "I think so, i am", "I think so, A am"),
        ("Mary Ann", "mary  ann and Mary\nAnn", "A and A"),
        ("a|b", "a|b, a or b", "A, a or b"),
        (r"\d", r"\d 7", "A 7"),
        ("(", "f(x)", "f(x)"),
        ("(", "x ( y", "x A y"),
        ("Zoe\u0308", "Zoë", "A"),
        ("İpek", "i̇pek İPEK ipek", None),
        ("straße", "STRASSE", None),
    ],
)
def test_a_name_is_replaced_as_a_word(name: str, note: str, becomes: str | None):
    said = Letters([of(name)]).text(note)
    assert said == becomes if becomes is not None else name not in said


def test_more_operators_than_letters():
    sources = [of(f"volunteer-{k}") for k in range(60)]
    letters = list(Letters(sources).letter_of.values())
    assert letters[24:29] == ["Y", "Z", "AA", "AB", "AC"]
    assert len(set(letters)) == 60


def test_names_that_are_letters_are_not_mixed_up():
    letters = Letters([of("B"), of("A")])
    assert letters.text("A and B") == "B and A"


def test_without_names_nothing_changes():
    made = enclosure_of([of("", "Anna was here")])
    assert enclosed_json(with_letters(made)) == enclosed_json(made)


@pytest.mark.slow
@given(names=st.lists(st.text(min_size=1, max_size=6), min_size=1, max_size=4), text=st.text())
def test_any_name_alone_is_replaced(names: list[str], text: str):
    letters = Letters([of(name) for name in names])
    for name in names:
        if name and name == name.strip():
            assert letters.text(f"; {name} ;") == f"; {letters.letter_of[name]} ;"
    letters.text(text)
