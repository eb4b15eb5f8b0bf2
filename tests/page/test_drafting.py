"""A study by questions, as the page's server takes it: asked one by one, kept once, by whom."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field, replace

import pytest
from browser_client import Browser, browser_at
from page_bench import MACHINE, PLANS, served

from hostctl.channels.page.drafting import LARGEST_DRAFT, MOST_ANSWERS, Workbench
from hostctl.channels.view.data import Json
from hostctl.config.load import study_from
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError

RIG = {
    "run": 4,
    "sd_mm": 0.0067,
    "upper_mm": 0.01,
    "trials": 20,
    "df": 20.0,
    "resolution_mm": 0.01,
}


@dataclass
class Shelf:
    """Where studies are kept, as far as the page knows it."""

    kept: dict[str, str] = field(default_factory=dict)
    rig: Json | None = None

    async def keep(self, name: str, text: str) -> None:
        if name in self.kept:
            raise ConfigError(f"{name}.yaml", "is there already", "Take another name.")
        self.kept[name] = text

    async def rig_of(self, machine: str) -> Json | None:
        return self.rig

    def bench(self) -> Workbench:
        return Workbench(
            machines=lambda: {"sim-220": MACHINE},
            taken=lambda: frozenset({*PLANS, *self.kept}),
            rig_of=self.rig_of,
            keep=self.keep,
        )


@asynccontextmanager
async def at_the_shelf(
    clock_s: list[float] | None = None, **shelf: object
) -> AsyncIterator[tuple[Shelf, Browser]]:
    own = Shelf(**shelf)  # type: ignore[arg-type]  # a table of keywords
    clock = (lambda: clock_s[0]) if clock_s else None
    async with (
        served(drafts=own.bench(), clock=clock) as bench,
        browser_at(bench.url) as browser,
    ):
        yield own, await browser.enter()


async def asked(browser: Browser, answers: object, path: str = "/draft") -> tuple[int, Json]:
    """Status, and what comes back."""
    headers = {"Origin": browser.url, "X-Hostctl-Token": browser.token}
    body = {"machine": "sim-220", "answers": answers}
    async with browser.http.post(browser.url + path, json=body, headers=headers) as reply:
        return reply.status, await reply.json()


async def all_as_suggested(browser: Browser, **otherwise: str) -> tuple[list[list[str]], Json]:
    """Every question answered, and what is told at the end."""
    answers: list[list[str]] = []
    while True:
        status, told = await asked(browser, answers)
        assert (status, told["unclear"], told["taken"]) == (200, "", len(answers))
        if told["question"] is None:
            return answers, told
        key = told["question"]["key"]
        answers.append([key, otherwise.get(key, told["question"]["suggested"])])


async def test_it_asks_until_a_study_stands_and_keeps_it_once():
    clock_s = [0.0]
    async with at_the_shelf(clock_s) as (shelf, browser):
        answers, told = await all_as_suggested(browser, operators="volunteer-b, volunteer-c")
        assert shelf.kept == {}
        assert "No rig check" in " ".join(told["foreseen"])
        clock_s[0] = 60.0
        assert await asked(browser, answers, "/draft/keep") == (200, {})
        assert shelf.kept == {told["study"]: told["file"]}
        study = study_from(Source("kept", told["file"]))
        assert study.operators == ["volunteer-b", "volunteer-c"]
        assert study.study not in PLANS
        status, refused = await asked(browser, answers, "/draft/keep")
        assert status == 409
        assert "already" in str(refused["refused"])


async def test_what_is_wrong_is_said_beside_the_same_question_and_nothing_is_kept():
    async with at_the_shelf(rig=RIG) as (shelf, browser):
        answers, told = await all_as_suggested(browser)
        assert "By the rig check, run 4," in " ".join(told["foreseen"])
        wrong = [
            ["tolerance.within_mm", "wide"] if one[0].startswith("tol") else one for one in answers
        ]
        status, told = await asked(browser, wrong)
        assert (status, told["question"]["key"]) == (200, "tolerance.within_mm")
        assert "no number" in told["unclear"]
        assert (await asked(browser, wrong, "/draft/keep"))[0] == 409
        assert (await asked(browser, answers[:2], "/draft/keep"))[0] == 409
        assert shelf.kept == {}


async def test_an_answer_to_what_is_not_asked_is_passed_over():
    async with at_the_shelf() as (_, browser):
        status, told = await asked(browser, [["port", "/dev/null"]])
        assert (status, told["taken"], told["question"]["key"]) == (200, 0, "judged")


@pytest.mark.parametrize(
    "answers",
    [
        None,
        "judged",
        [["judged"]],
        [["judged", 3]],
        [["judged", "x" * 1001]],
        [["a", ""]] * (MOST_ANSWERS + 1),
    ],
)
async def test_what_is_no_list_of_answers_is_refused(answers: object):
    async with at_the_shelf() as (_, browser):
        assert (await asked(browser, answers))[0] == 400


async def test_only_a_paired_browser_of_this_page_is_asked_and_not_in_a_flood():
    shelf = Shelf()
    async with (
        served(listen="0.0.0.0", drafts=shelf.bench(), clock=lambda: 0.0) as bench,
        browser_at(bench.url) as browser,
    ):
        for path in ("/draft", "/draft/keep"):
            assert (await asked(browser, [], path))[0] == 401
        code = bench.server.pair().code
        assert (await browser.post("/pair", {"code": code}))[0] == 200
        await browser.enter()
        body = {"machine": "sim-220", "answers": []}
        for wrong in ({"Origin": "http://elsewhere.example"}, {"X-Hostctl-Token": "x"}):
            assert (await browser.post("/draft/keep", body, **wrong))[0] in (401, 403)
        assert (await browser.post("/draft", b" " * (LARGEST_DRAFT + 1)))[0] == 413
        bench.begin()
        tries = await asyncio.gather(*(asked(browser, []) for _ in range(30)))
        assert {status for status, _ in tries} == {200, 429}
        assert (await browser.post("/hold", {"machine": "sim-220"}))[0] != 429
        assert shelf.kept == {}


async def test_a_machine_that_takes_no_reading_is_asked_for_no_study():
    bare = MACHINE.model_copy(update={"indicator": None, "probe": None})
    bench = replace(Shelf().bench(), machines=lambda: {"sim-220": bare})
    async with served(drafts=bench) as page, browser_at(page.url) as browser:
        status, told = await asked(await browser.enter(), [])
        assert status == 409
        assert "takes a reading" in str(told["refused"])
