"""A report's page is valid HTML, holds all it needs, and lets nothing in or out."""

import itertools
import re
from base64 import b64encode
from hashlib import sha256
from xml.etree.ElementTree import Element

import html5lib
import pytest
from laid_out import HOSTILE, PAGES, drawn, many, page_of, with_history

from hostctl.report.document.blocks import Document, Heading, Paragraph, Part, Role
from hostctl.report.html_file.every_reading import every_reading
from hostctl.report.html_file.page import page

HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")


def parsed(text: str) -> Element:
    """The tree. Raises ParseError where the text is no valid HTML."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)


def told(element: Element) -> str:
    return " ".join("".join(element.itertext()).split())


@pytest.mark.slow
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_valid_and_its_parts_know_each_other(name: str):
    tree = parsed(PAGES[name]())
    every = list(tree.iter())
    ids = [one.get("id") for one in every if one.get("id")]
    assert len(ids) == len(set(ids))
    pointed = [one.get(at) for one in every for at in ("aria-labelledby", "aria-describedby")]
    linked = [one.get("href", "").removeprefix("#") for one in every if one.tag == "a"]
    assert {at for at in (*pointed, *linked) if at is not None} <= set(ids)
    levels = [HEADINGS.index(one.tag) for one in every if one.tag in HEADINGS]
    assert all(told(one) for one in every if one.tag in HEADINGS)
    assert levels.count(0) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_nothing_is_fetched_and_no_script_runs_but_its_own():
    tree = parsed(page_of(drawn({"slip": 0.02}, ("volunteer-a",), 12)))
    assert {one.get("href", "#")[0] for one in tree.iter()} == {"#"}
    assert not [one for one in tree.iter() if one.get("src") or one.tag in ("link", "iframe")]
    style, *others = tree.iter("style")
    assert others == []
    assert not re.search(r"url\(|@import", style.text or "")
    running = [one for one in tree.iter("script") if one.get("type") is None]
    (script,) = running
    digest = b64encode(sha256((script.text or "").encode()).digest()).decode()
    (policy,) = [one.get("content", "") for one in tree.iter("meta") if one.get("http-equiv")]
    assert policy.startswith(f"default-src 'none'; script-src 'sha256-{digest}'; ")


def test_the_question_heads_the_page_and_what_it_holds_is_listed():
    blocks = (
        Paragraph(text="Is it bright?", role=Role.QUESTION),
        Paragraph(text="It is.", role=Role.ANSWER),
        *(Heading(text="Why & how") for _ in range(2)),
        Heading(text="a closer look", level=2),
        Part(title="Enclosed", blocks=(Heading(text="of it"),)),
    )
    text = page(Document(title="Lamps", blocks=blocks), readings='<p id="readings">r</p>')
    tree = parsed(text.replace('<p id="readings"', '<p id="one-by-one"'))
    assert told(next(tree.iter("h1"))) == "Is it bright?"
    header = told(next(tree.iter("header")))
    assert header == "Lamps Is it bright? It is."
    links = [(one.get("href"), told(one)) for one in tree.iter("a")]
    assert links == [
        ("#why-how", "Why & how"),
        ("#why-how-2", "Why & how"),
        ("#enclosed-2", "Enclosed"),
        ("#one-by-one", "The readings one by one"),
    ]


def test_void_readings_stay_with_their_reason_and_zeros_are_named():
    sources = [with_history(drawn({"slip": 0.02}, ("a",), 5)), drawn({"rig": 0.005}, ("",), 2)]
    tree = parsed(f"<!doctype html><title>t</title>{every_reading(sources)}")
    heads = [told(one) for one in tree.iter("th")]
    assert heads == [
        "no.",
        "of",
        "block",
        "method",
        "operator",
        "point",
        "trial",
        "attempt",
        "reading, mm",
        "of note",
        "taken, UTC",
        "nozzle, °C",
    ]
    rows = [[told(cell) for cell in row] for row in next(tree.iter("tbody"))]
    assert [row[9][:20] for row in rows] == ["zero", "", "void: redo was said,", "", "", "", ""]
    assert rows[1][10:] == ["2026-11-28 21:07:03", "21.0"]  # 1795900000 s and 23.456 s after 1970
    assert [row[-1] for row in rows] == ["", "21.0", "21.0", "21.0", "21.0", "", ""]


def test_more_than_a_page_encloses_are_said_to_lie_beside_it():
    told_of = every_reading([many(2000)], "slip & light.data.json")
    assert "2,000 readings are too many to list; they are in slip &amp; light.data.json" in told_of
    assert "<table" not in told_of


@pytest.mark.slow
def test_ten_thousand_readings_take_less_than_a_megabyte():
    text = page_of(many(10_000))
    assert 10_000 < len(text.encode()) < 1_000_000
    assert "<table" not in text.partition('<section id="readings"')[2].partition("</section>")[0]
    assert "10,000 readings are listed here by a script within this page" in text


@pytest.mark.slow
def test_names_come_out_as_text():
    tree = parsed(PAGES["8 methods, hostile and long names"]())
    assert not list(tree.iter("img"))
    shown = HOSTILE.replace("\u202e", "\ufffd").replace("\x07", "\ufffd")
    assert shown in told(next(tree.iter("main")))
