"""`hostctl report` as a user has it: a page, Markdown, JSON, one figure; what it refuses."""

import json
import random
import re
import subprocess
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from hostctl.report.whole.document import REPORT

Done = subprocess.CompletedProcess[str]
Hostctl = Callable[..., Done]
SEED = 20_261_128
HOSTILE = '</script><img src=x onerror="alert(1)">\u202e=SUM(A1)'


def table(path: Path, methods: dict[str, float], operators: tuple[str, ...], n: int = 12) -> str:
    """So many readings of each method by each operator, as somebody sends them."""
    chance = random.Random(SEED)
    lines = ["method,operator,reading_mm"]
    for method, sigma_mm in methods.items():
        for operator in operators:
            values = (chance.gauss(0.0, sigma_mm) for _ in range(n))
            quoted = [f'"{name}"' for name in (method, operator.replace('"', '""'))]
            lines += [f"{','.join(quoted)},{value:.2f}" for value in values]
    path.write_text("\n".join(lines) + "\n")
    return str(path)


@pytest.fixture
def readings(tmp_path: Path) -> str:
    methods = {"paper-slip": 0.02, "contact-light": 0.008}
    return table(tmp_path / "readings.csv", methods, ("volunteer-a", "volunteer-b"))


ASKED = ("--tolerance", "0.05")


def test_a_page_is_written_and_its_answer_told(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    done = hostctl_here("report", readings, *ASKED, "-o", "found.html")
    name, answer = done.stdout.splitlines()
    assert (done.returncode, done.stderr, name) == (0, "", "found.html")
    assert answer.startswith("Repeatability only: at least 95 % of settings within ±0.05 mm")
    page = (tmp_path / "found.html").read_text()
    assert page.startswith("<!doctype html>")
    assert "at least 95 % of settings within ±0.05 mm" in page.replace("\N{NO-BREAK SPACE}", " ")


def test_its_data_give_the_same_again(hostctl_here: Hostctl, readings: str):
    hostctl_here("report", readings, *ASKED, "-o", "found.html")
    again = json.loads(hostctl_here("analyse", "found.html", "--json").stdout)
    assert again == json.loads(hostctl_here("analyse", readings, *ASKED, "--json").stdout)


@pytest.fixture
def few_in_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if the readings of these tests were too many for a page."""
    monkeypatch.setattr("hostctl.cli.report_made.MOST_IN_PAGE", 10)


@pytest.mark.usefixtures("few_in_page")
def test_many_readings_lie_beside_the_page_and_give_the_same_again(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    done = hostctl_here("report", readings, *ASKED, "-o", "found.html")
    assert (done.returncode, done.stderr) == (0, "")
    page = (tmp_path / "found.html").read_text()
    assert 'id="enclosed"' not in page
    assert '<meta name="data-file" content="found.data.json">' in page
    again = json.loads(hostctl_here("analyse", "found.html", "--json").stdout)
    assert again == json.loads(hostctl_here("analyse", readings, *ASKED, "--json").stdout)


@pytest.mark.usefixtures("few_in_page")
def test_what_breaks_off_leaves_neither_page_nor_data(
    hostctl_here: Hostctl, readings: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    def interrupted(*args: object, **more: object) -> str:
        assert (tmp_path / "found.data.json").exists()
        raise KeyboardInterrupt

    monkeypatch.setattr("hostctl.report.html_file.page.page", interrupted)
    done = hostctl_here("report", readings, "-o", "found.html")
    assert (done.returncode, done.stdout, done.stderr) == (130, "", "Interrupted.\n")
    assert [path.name for path in tmp_path.glob("found*")] == []


@pytest.mark.usefixtures("few_in_page")
def test_data_that_are_there_already_stay_and_no_page_is_written(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    (tmp_path / "found.data.json").write_text("kept")
    done = hostctl_here("report", readings, "-o", "found.html")
    assert done.returncode != 0
    assert done.stderr.startswith("found.data.json: is there already.")
    assert [path.name for path in tmp_path.glob("found*")] == ["found.data.json"]
    assert (tmp_path / "found.data.json").read_text() == "kept"


def test_without_a_name_one_is_made_up_and_nothing_is_overwritten(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    assert hostctl_here("report", readings).stdout.splitlines()[0] == "readings-csv.html"
    before = (tmp_path / "readings-csv.html").read_bytes()
    again = hostctl_here("report", readings)
    assert again.returncode != 0
    assert again.stderr == (
        "readings-csv.html: is there already. Name another file, or move it away first.\n"
    )
    assert (tmp_path / "readings-csv.html").read_bytes() == before


def test_json_is_what_its_schema_says(hostctl_here: Hostctl, readings: str, tmp_path: Path):
    import jsonschema

    assert hostctl_here("report", readings, *ASKED, "--json", "-o", "found.json").returncode == 0
    found = json.loads((tmp_path / "found.json").read_text())
    jsonschema.validate(found, REPORT.schema())
    assert found["analysis"]["source"]["readings"] == 48


def test_markdown_holds_the_answer(hostctl_here: Hostctl, readings: str, tmp_path: Path):
    done = hostctl_here("report", readings, *ASKED, "--md", "-o", "found.md")
    assert done.returncode == 0
    assert "volunteer\\-a" in (text := (tmp_path / "found.md").read_text()) or "volunteer-a" in text


def test_one_figure_alone_as_svg(hostctl_here: Hostctl, readings: str, tmp_path: Path):
    done = hostctl_here("report", readings, *ASKED, "--svg", "readings", "-o", "dots.svg")
    assert done.returncode == 0, done.stderr
    drawn = ET.fromstring((tmp_path / "dots.svg").read_text())
    assert (drawn.get("width"), drawn.get("height")) == ("1920", "1080")
    assert len(drawn.findall(".//{http://www.w3.org/2000/svg}circle")) > 12


def test_one_figure_alone_as_png(hostctl_here: Hostctl, readings: str, tmp_path: Path):
    done = hostctl_here("report", readings, *ASKED, "--png", "readings", "-o", "dots.png")
    assert done.returncode == 0, done.stderr
    png = (tmp_path / "dots.png").read_bytes()
    assert png.startswith(b"\x89PNG")
    width, height = (int.from_bytes(png[at : at + 4], "big") for at in (16, 20))
    assert (width, height) == (1920, 1080)


def test_a_figure_that_is_not_there_is_named_with_those_that_are(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    done = hostctl_here("report", readings, "--svg", "nosuch", "-o", "dots.svg")
    assert done.returncode == 2
    assert "there is no figure 'nosuch' in this report. There are: readings, " in done.stderr
    assert not (tmp_path / "dots.svg").exists()


def test_letters_stand_for_people_in_all_that_is_written(
    hostctl_here: Hostctl, readings: str, tmp_path: Path
):
    done = hostctl_here("report", readings, *ASKED, "--letters", "-o", "found.html")
    assert done.returncode == 0, done.stderr
    assert "volunteer" not in done.stdout + (tmp_path / "found.html").read_text()
    again = hostctl_here("analyse", "found.html")
    assert "contact-light by A" in " ".join(again.stdout.split())


@pytest.mark.parametrize(
    "chosen", [("--method", "paper-slip", "--operator", "volunteer-a"), ("--apart", "run")]
)
def test_a_report_made_again_and_again_is_of_the_same_readings(
    hostctl_here: Hostctl, readings: str, chosen: tuple[str, ...]
):
    assert hostctl_here("report", readings, *ASKED, *chosen, "-o", "1.html").returncode == 0
    for last in (1, 2):
        done = hostctl_here("report", f"{last}.html", "-o", f"{last + 1}.html")
        assert done.returncode == 0, done.stderr
    first, third = (
        json.loads(hostctl_here("analyse", f"{n}.html", "--json").stdout) for n in (1, 3)
    )
    assert third == first


def shown(page: str) -> Iterator[str]:
    """The page without the data that it encloses."""
    yield re.sub(r'<script type="application/json".*?</script>', "", page, flags=re.DOTALL)


def test_names_with_markup_come_out_as_text(hostctl_here: Hostctl, tmp_path: Path):
    readings = table(tmp_path / "names.csv", {"paper-slip": 0.02}, (HOSTILE, "volunteer-b"))
    done = hostctl_here("report", readings, *ASKED, "-o", "found.html")
    assert done.returncode == 0, done.stderr
    page = (tmp_path / "found.html").read_text()
    assert "<img" not in page
    assert page.count("</script>") == page.count("<script")
    assert hostctl_here("analyse", "found.html").returncode == 0


def test_a_single_reading_has_a_report(hostctl_here: Hostctl, tmp_path: Path):
    (tmp_path / "one.csv").write_text("reading_mm\n0.01\n")
    done = hostctl_here("report", "one.csv", "--resolution", "0.01", "-o", "one.html")
    assert done.returncode == 0, done.stderr


def test_a_report_of_reports_is_a_ring_trial(hostctl_here: Hostctl, tmp_path: Path):
    for shop, sigma_mm in (("east", 0.01), ("west", 0.012), ("north", 0.03)):
        file = table(tmp_path / f"{shop}.csv", {"paper-slip": sigma_mm}, ("volunteer-a",), n=20)
        assert hostctl_here("report", file, "-o", f"{shop}.html").returncode == 0
    shops = [f"{shop}.html" for shop in ("east", "west", "north")]
    done = hostctl_here("report", *shops, "--json", "-o", "all.json")
    assert done.returncode == 0, done.stderr
    (between,) = json.loads((tmp_path / "all.json").read_text())["analysis"]["workshops"]
    assert len(between["workshops"]) == 3
    assert between["workshops"][2]["k"] > between["k_limit"]
