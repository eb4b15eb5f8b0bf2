"""A report that is broken, changed or made to do harm is one error, or is read; it is never run."""

import json
import os
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
from enclosing import enclosure_of, of_workshop, written
from hypothesis import given, settings
from hypothesis import strategies as st

from hostctl.cli.main import main
from hostctl.errors import DataError
from hostctl.report.enclosed.enclosure import Enclosure
from hostctl.report.enclosed.page import MOST_PAGE_BYTES
from hostctl.report.enclosed.reading import enclosed_of
from hostctl.report.enclosed.writing import enclosed_json, metas_of, script_of, sealed

VALUES_MM = (0.02, -0.01, 0.03, 0.02, 0.0, 0.01, -0.02, 0.04)


@pytest.fixture(scope="module")
def made() -> Enclosure:
    return enclosure_of([of_workshop("bench", VALUES_MM)])


@pytest.fixture(scope="module")
def text(made: Enclosure) -> str:
    return enclosed_json(made)


def page_of(folder: Path, text: str) -> Path:
    """A page whose hashes are right, whatever the data are."""
    path = folder / "report.html"
    page = sealed(f"<!doctype html>\n<head>{metas_of(text)}</head><body>{script_of(text)}</body>")
    path.write_bytes(page.encode())
    return path


def refused(path: Path, says: str) -> None:
    with pytest.raises(DataError, match=says) as error:
        enclosed_of(path)
    assert "\n" not in str(error.value)
    assert len(str(error.value)) < 600


def test_changed_data_are_refused(made: Enclosure, tmp_path: Path):
    path = written(tmp_path / "a.html", made)
    path.write_text(path.read_text().replace('"value_mm":[0.02', '"value_mm":[0.03'))
    refused(path, "its data don't match the hash in the page: they were changed or damaged")


def test_changed_text_is_read_and_said(made: Enclosure, tmp_path: Path):
    path = written(tmp_path / "a.html", made)
    path.write_text(path.read_text().replace("What was found.", "What was wished for."))
    back = enclosed_of(path)
    assert ["its text doesn't match its hash" in remark for remark in back.remarks] == [True]
    assert back.found == made.found


def test_a_page_without_the_hash_of_itself_is_read_and_said(made: Enclosure, tmp_path: Path):
    path = written(tmp_path / "a.html", made)
    path.write_text(path.read_text().replace('name="file-sha256"', 'name="other"'))
    assert len(enclosed_of(path).remarks) == 1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda page: page.replace('id="enclosed"', 'id="other"'), "holds no data"),
        (lambda page: page.replace("<body>", f"<body>{script_of('{}')}"), "holds its data twice"),
        (lambda page: page.replace("</head>", f"{metas_of('{}')}</head>"), "data-sha256 twice"),
        (lambda page: page.replace('name="data-sha256"', 'name="x"'), "is no report of hostctl's"),
        (lambda page: page[: page.index('"rows"')], "breaks off within its data"),
        (lambda page: page[: page.index("<body>")], "holds no data"),
        (lambda page: "", "is no report of hostctl's"),
        (lambda page: "reading_mm\n0.01\n", "is no report of hostctl's"),
        (lambda page: page.encode("utf-16").decode("latin-1"), "is no report of hostctl's"),
    ],
)
def test_what_is_no_whole_report_is_refused(
    made: Enclosure, tmp_path: Path, change: Callable[[str], str], says: str
):
    path = written(tmp_path / "a.html", made)
    path.write_text(change(path.read_text()))
    refused(path, says)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("[" * 100_000, "nested too deeply"),
        ('{"format":' * 5_000 + "1" + "}" * 5_000, "nested too deeply"),
        ("", "they are no JSON"),
        ("null", "the whole is not an object"),
        ("{}", "format is missing"),
        ('{"format": NaN}', "NaN stands where a number should"),
        ('{"format": Infinity}', "Infinity stands where a number should"),
        ('{"format": ' + "9" * 5000 + "}", "they are no JSON"),
        ('{"format": "\ud800"', "no JSON"),
        ("[" + "[]," * 1_100_000 + "1]", "there are more values than a report has"),
    ],
)
def test_what_is_no_json_of_ours_is_refused(tmp_path: Path, change: str, says: str):
    path = tmp_path / "a.html"
    data = change.encode("utf-8", "surrogatepass")
    page = f'<meta name="data-sha256" content="{sha256(data).hexdigest()}">'.encode()
    path.write_bytes(page + script_of("@").encode().replace(b"@", data))
    refused(path, says)


CHANGES: list[tuple[list[str | int], Any, str]] = [
    (["format"], "csv", "not in the format 'hostctl report'"),
    (["version"], 2, "is in version 2 of the format, made by hostctl"),
    (["version"], True, "version is not a number"),
    (["version"], -1, "version is not from 1"),
    (["sources"], [], "sources is empty"),
    (["sources"], {}, "sources is not a list"),
    (["sources", 0], 7, r"sources\[0\] is not an object"),
    (["sources", 0, "rows", "value_mm", 0], "0.01", "value_mm holds something else than numbers"),
    (["sources", 0, "rows", "value_mm", 0], True, "value_mm holds something else than numbers"),
    (["sources", 0, "rows", "value_mm", 0], None, "value_mm holds something else than numbers"),
    (["sources", 0, "rows", "value_mm", 0], 10**300, "value_mm is not from"),
    (["sources", 0, "rows", "value_mm"], [], "columns of sources.0..rows are of unlike length"),
    (["sources", 0, "rows", "bed_c"], [1.0], "columns of sources.0..rows are of unlike length"),
    (["sources", 0, "rows", "group", 3], 1, "group is not from 0 to 0"),
    (["sources", 0, "rows", "group", 3], -1, "group is not from 0 to 0"),
    (["sources", 0, "rows", "group", 3], 0.0, "group holds something else than numbers"),
    (["sources", 0, "rows", "void", 3], 0, "void is not from -1 to -1"),
    (["sources", 0, "rows", "is_zero", 3], 2, "is_zero is not from 0 to 1"),
    (["sources", 0, "rows", "trial", 3], 2**31, "trial is not from 0"),
    (["sources", 0, "rows", "is_zero"], [1] * 8, "no reading of sources.0..material counts"),
    (["sources", 0, "groups"], [], "group is not from 0 to -1"),
    (["sources", 0, "material", "reference"], "zero", "reference is none of first"),
    (["sources", 0, "material", "resolution_mm"], 0.0, "resolution_mm is not from"),
    (["sources", 0, "material", "zero_known"], 1, "zero_known is not true or false"),
    (["sources", 0, "material", "notes"], "n", "notes is not a list"),
    (["sources", 0, "material", "notes"], [1], "notes is not a text"),
    (["sources", 0, "material", "goal", "proportion"], 1.0, "proportion is not from"),
    (["sources", 0, "account"], {}, "sources.0..account.run is missing"),
    (["rig"], [], "rig is not an object"),
    (["asked", "look", "number"], 0, "number is not from 1"),
    (["asked", "margin"], 0.5, "margin is not from 1"),
    (["made_at_utc"], "noon", "made_at_utc is no time"),
    (["made_at_utc"], "2031-05-06", "made_at_utc names no time zone"),
    (["made_at_utc"], "0001-01-01T00:00:00+23:00", "made_at_utc is no time"),
    (["found"], [], "found is not an object"),
]


@pytest.mark.parametrize(("at", "value", "says"), CHANGES)
def test_wrong_values_are_named_by_their_place(
    text: str, tmp_path: Path, at: list[str | int], value: Any, says: str
):
    data = json.loads(text)
    part = data
    for key in at[:-1]:
        part = part[key]
    part[at[-1]] = value
    refused(page_of(tmp_path, json.dumps(data)), says)


def test_what_was_found_may_not_be_nested_deeply(text: str, tmp_path: Path):
    data = json.loads(text)
    data["found"] = {"a": json.loads("[" * 200 + "]" * 200)}
    refused(page_of(tmp_path, json.dumps(data)), "found is nested too deeply")


def test_a_block_has_one_zero_each_round(text: str, tmp_path: Path):
    data = json.loads(text)
    data["sources"][0]["groups"] *= 2
    refused(page_of(tmp_path, json.dumps(data)), "groups has a block's round at a point twice")


def test_what_a_terminal_would_obey_is_made_visible(text: str, tmp_path: Path):
    data = json.loads(text)
    data["sources"][0]["material"]["name"] = "\x1b[2Jgone\x9b"
    back = enclosed_of(page_of(tmp_path, json.dumps(data)))
    assert back.sources[0].material.name == "\ufffd[2Jgone\ufffd"


@pytest.mark.parametrize(
    "name",
    [
        "../a.data.json",
        "/etc/passwd",
        "sub/a.data.json",
        "..\\a.data.json",
        "c:a.data.json",
        "a.json",
        "",
        "a\x00.data.json",
        "&#47;a.data.json",
    ],
)
def test_only_a_plain_name_beside_the_page_is_opened(text: str, tmp_path: Path, name: str):
    folder = tmp_path / "folder"
    folder.mkdir()
    (tmp_path / "a.data.json").write_text(text)
    page = metas_of(text, "@").replace("@", name)
    (folder / "a.html").write_text(page)
    refused(folder / "a.html", "is no plain name of a data file")


def test_data_that_are_not_beside_the_page_are_named(text: str, tmp_path: Path):
    (tmp_path / "a.html").write_text(metas_of(text, "a.data.json"))
    refused(tmp_path / "a.html", "in a file of their own, a.data.json, which is not beside it")


def test_data_beside_the_page_are_held_against_its_hash(text: str, tmp_path: Path):
    (tmp_path / "a.html").write_text(metas_of(text, "a.data.json"))
    (tmp_path / "a.data.json").write_text(text + " ")
    refused(tmp_path / "a.html", "a.data.json: its data don't match the hash")


def test_a_page_too_large_is_not_read_to_its_end(tmp_path: Path):
    path = tmp_path / "a.html"
    with path.open("wb") as file:
        file.truncate(MOST_PAGE_BYTES * 100)  # a hole: it takes no room
    refused(path, "is larger than the 64 MiB of a report")


def test_what_is_no_file_is_refused(tmp_path: Path):
    os.mkfifo(tmp_path / "a.html")
    refused(tmp_path / "a.html", "there is no such file")
    refused(tmp_path, "there is no such file")


def test_a_refusal_is_one_line_and_no_traceback(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    (tmp_path / "a.html").write_text("<p>Not one of ours.</p>")
    assert main(["analyse", str(tmp_path / "a.html")]) == 8
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "is no report of hostctl's" in said


def test_data_named_without_their_page_are_told_apart_from_a_table(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["analyse", str(tmp_path / "a.data.json")]) == 8
    assert "Name the page that it belongs to" in capsys.readouterr().err


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner, max_size=3)
    ),
    max_leaves=5,
)


def places(data: Any, at: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every place in the data where something stands."""
    inner = (
        data.items()
        if isinstance(data, dict)
        else enumerate(data if isinstance(data, list) else ())
    )
    return [at, *(place for key, value in inner for place in places(value, (*at, key)))]


@pytest.mark.slow
@settings(max_examples=50)
@given(data=st.data())
def test_whatever_stands_anywhere_it_is_read_or_refused(
    text: str, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
):
    whole = json.loads(text)
    for place in data.draw(st.lists(st.sampled_from(places(whole)[1:]), min_size=1, max_size=3)):
        part = whole
        try:
            for key in place[:-1]:
                part = part[key]
            part[place[-1]] = data.draw(json_values)
        except (KeyError, IndexError, TypeError):
            continue  # an earlier change took the place away
    path = page_of(tmp_path_factory.mktemp("fuzzed"), json.dumps(whole))
    read_or_refused(path)


@pytest.mark.slow
@settings(max_examples=50)
@given(cut=st.integers(0, 6000), put=st.binary(max_size=12), over=st.integers(0, 40))
def test_whatever_bytes_stand_anywhere_it_is_read_or_refused(
    made: Enclosure, tmp_path_factory: pytest.TempPathFactory, cut: int, put: bytes, over: int
):
    path = written(tmp_path_factory.mktemp("fuzzed") / "a.html", made)
    page = path.read_bytes()
    path.write_bytes(page[:cut] + put + page[cut + over :])
    read_or_refused(path)


def read_or_refused(path: Path) -> None:
    """And what is read can be analysed, or is refused by that, too."""
    try:
        enclosed_of(path)
    except DataError:
        return
    assert main(["analyse", str(path)]) in (0, 8)
