"""At the end of a run the daemon has its report made: the whole way.

With the command that users have once; else with a program of the tests in its place, which is soon
done.
"""

import json
import re
from http.cookiejar import CookieJar
from pathlib import Path
from urllib.request import HTTPCookieProcessor, OpenerDirector, Request, build_opener

import pytest
from daemon_process import Daemon, Json
from kept_port import kept_port
from stand_in_report import ANSWER

pytestmark = pytest.mark.slow

NAME = "small-on-bench-run-1.html"


@pytest.fixture
def reporting(daemon: Daemon) -> Daemon:
    daemon.program = [str(Path(__file__).with_name("stand_in_report.py"))]
    return daemon


def report_in(found: Json) -> Json:
    report = found["report"]
    return report if isinstance(report, dict) else {}


def test_a_complete_run_is_reported_on_and_the_daemon_computes_nothing(reporting: Daemon):
    reporting.write_host("bench", simulated_people="true")
    reporting.start()
    reporting.start_run("bench", study="small")
    found = reporting.until("bench", lambda found: report_in(found).get("standing") == "made")
    assert report_in(found) == {
        "run": 1,
        "study": "small",
        "complete": True,
        "standing": "made",
        "file_name": NAME,
        "answer": ANSWER,
        "why": "",
    }
    assert (reporting.folder / "reports" / NAME).read_text() == "<p>1"
    assert f"Report of run 1, {NAME}: {ANSWER}" in " ".join(reporting.cli("status").stdout.split())
    assert reporting.process is not None
    maps = Path(f"/proc/{reporting.process.pid}/maps").read_text()
    assert not re.search("numpy|scipy|matplotlib", maps)
    assert reporting.end() == 0
    reporting.start()
    assert report_in(reporting.machine("bench")) == report_in(found)


def test_the_report_is_the_one_that_the_command_makes_and_so_is_what_it_comes_to(daemon: Daemon):
    page = f"http://127.0.0.1:{(port := kept_port())}"
    daemon.write_host("bench", simulated_people="true", page=f"{{port: {port}}}")
    daemon.start()
    daemon.start_run("bench", study="small")
    found = daemon.until("bench", lambda found: report_in(found).get("standing") == "made")
    kept = daemon.folder / "reports" / NAME
    beside = daemon.cli("report", "1", "-o", str(daemon.folder / "beside.html"))
    name, answer = beside.stdout.splitlines()
    assert Path(name).is_file()
    assert report_in(found)["answer"] == answer
    again = daemon.cli("analyse", str(kept), "--json")
    assert json.loads(again.stdout)["source"]["readings"] == 3
    browser = build_opener(HTTPCookieProcessor(CookieJar()))
    browser.open(page).close()
    with browser.open(f"{page}/reports/1/outcome") as told:
        outcome = json.load(told)
    assert " ".join(outcome["answer"]) == answer.replace("by what follows", "by the report")
    study = a_study_by_questions(browser, page)
    assert study in str(daemon.machine("bench")["studies"])
    assert (daemon.folder / "studies" / f"{study}.yaml").is_file()
    assert daemon.process is not None
    assert not re.search("numpy", Path(f"/proc/{daemon.process.pid}/maps").read_text())


def a_study_by_questions(browser: OpenerDirector, page: str) -> str:
    """Made as suggested; its name."""
    with browser.open(f"{page}/live") as live:
        hello = next(line for line in live if line.startswith(b"data: "))
    token = json.loads(hello.removeprefix(b"data: "))["token"]

    def post(path: str, answers: list[list[str]]) -> Json:
        body = json.dumps({"machine": "bench", "answers": answers}).encode()
        headers = {"Content-Type": "application/json", "Origin": page, "X-Hostctl-Token": token}
        with browser.open(Request(f"{page}{path}", body, headers)) as reply:
            told: Json = json.load(reply)
            return told

    answers: list[list[str]] = []
    while (question := (told := post("/draft", answers))["question"]) is not None:
        answers.append([question["key"], question["suggested"]])
    assert post("/draft/keep", answers) == {}
    return str(told["study"])


def test_the_page_sends_what_was_made(reporting: Daemon):
    port = kept_port()
    reporting.write_host("bench", simulated_people="true", page=f"{{port: {port}}}")
    reporting.start()
    reporting.start_run("bench", study="small")
    reporting.until("bench", lambda found: report_in(found).get("standing") == "made")
    browser = build_opener(HTTPCookieProcessor(CookieJar()))
    browser.open(f"http://127.0.0.1:{port}/").close()
    with browser.open(f"http://127.0.0.1:{port}/reports/1/keep") as kept:
        assert kept.read() == b"<p>1"
        assert kept.headers.get_filename() == NAME


def test_a_run_that_ended_early_is_offered_a_report_and_a_new_run_takes_the_offer_away(
    reporting: Daemon,
):
    reporting.start()
    reporting.start_run("bench", study="small")
    reporting.answer_all("bench", readings=1)
    reporting.until("bench", lambda found: found["readings_mm"])
    reporting.ask("answer", text="end")
    found = reporting.until("bench", report_in)
    assert (report_in(found)["standing"], report_in(found)["complete"]) == ("not made", False)
    assert not (reporting.folder / "reports").exists()
    reporting.start_run("bench", study="small")
    assert reporting.until("bench", lambda found: found["run"])["report"] is None


def test_a_run_that_ended_before_anything_was_read_is_offered_none(reporting: Daemon):
    reporting.start()
    reporting.start_run("bench", study="small")
    reporting.until("bench", lambda found: found["prompt"])
    reporting.ask("answer", text="end")
    found = reporting.until("bench", lambda found: "ended early" in str(found["notice"]))
    assert found["report"] is None
