"""A document is laid out as text, HTML and Markdown; a result's data fit its schema."""

import json
from dataclasses import dataclass
from enum import StrEnum
from html.parser import HTMLParser
from typing import ClassVar

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.basis.reason import Reason, Why
from hostctl.metrology.claims.claim import Centre
from hostctl.report.document.as_html import as_html
from hostctl.report.document.as_markdown import as_markdown
from hostctl.report.document.as_text import as_text
from hostctl.report.document.blocks import (
    Beside,
    Column,
    Document,
    Figure,
    Fold,
    Heading,
    Items,
    Paragraph,
    Part,
    Role,
    Table,
)
from hostctl.report.document.picture import Picture
from hostctl.report.document.question import Question


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Heights of steps."""

    kind: ClassVar[str] = "steps"
    heights: tuple[int, ...]

    def in_text(self) -> str:
        return "".join("▁▄█"[height] for height in self.heights)

    def in_svg(self) -> Picture:
        marks = "".join(f'<circle cx="50%" cy="{4 * one}" r="2"/>' for one in self.heights)
        return Picture(height_px=20, marks=marks)

    def numbers(self) -> Table:
        return Table(
            columns=(Column(head="height", is_number=True),),
            rows=tuple((str(one),) for one in self.heights),
        )


class Colour(StrEnum):
    """What it is painted with."""

    RED = "red"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamp:
    """One lamp."""

    name: str
    colour: Colour
    power_w: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamps:
    """All lamps there are."""

    lamps: tuple[Lamp, ...]
    by_name: dict[str, Lamp]
    share: float | NotYet
    pair: tuple[int, str]
    about: Centre
    why: Reason | None


TABLE = Table(
    columns=(Column(head="method"), Column(head="s", unit="mm", is_number=True)),
    rows=(("by volunteer-a:",), ("paper-slip", "0.0167"), ("light", "0.008")),
)
DOCUMENT = Document(
    title="How bright & why",
    blocks=(
        Paragraph(text="Bright enough.", role=Role.ANSWER),
        Heading(text="What was seen"),
        TABLE,
        Beside(tables=(TABLE, TABLE)),
        Figure(drawing=Steps(heights=(0, 1, 2)), says="It rises.", name="steps"),
        Items(items=("Few were looked at.", "In daylight."), role=Role.CAUTION),
        Fold(
            title="With these numbers",
            blocks=(
                Heading(text="lamp", level=2),
                Items(items=("1 + 1 = 2",), bulleted=False),
            ),
        ),
    ),
)

AS_TEXT = """\
Bright enough.

What was seen

method            s, mm
───────────────  ──────
by volunteer-a:
  paper-slip     0.0167
  light           0.008

method            s, mm    method            s, mm
───────────────  ──────    ───────────────  ──────
by volunteer-a:            by volunteer-a:
  paper-slip     0.0167      paper-slip     0.0167
  light           0.008      light           0.008

It rises.
▁▄█

• Few were looked at.
• In daylight.

With these numbers

lamp
  1 + 1 = 2"""


def test_as_text():
    assert as_text(DOCUMENT) == AS_TEXT


def test_what_is_answered_and_cautioned_is_found_again():
    assert DOCUMENT.said(Role.ANSWER) == ["Bright enough."]
    assert DOCUMENT.said(Role.CAUTION) == ["Few were looked at.", "In daylight."]


class Seen(HTMLParser):
    """The tags in order, whether they close as they opened, and the text."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        self.tags.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def seen(html: str) -> Seen:
    parser = Seen()
    parser.feed(html)
    parser.close()
    assert parser.open == []
    return parser


def test_as_html_is_well_formed_and_has_it_all():
    html = seen(as_html(DOCUMENT))
    assert {"h2", "h3", "h4", "table", "figure", "figcaption", "ul", "details"} <= set(html.tags)
    assert html.tags.count("table") == 4  # one holds the numbers of the figure
    assert "How bright & why" in html.text
    assert "1 + 1 = 2" in html.text


ANY = st.text(st.characters(exclude_categories=["Cs", "Cc", "Cf", "Cn"]), min_size=1, max_size=30)


@given(text=ANY)
def test_no_name_becomes_a_mark_of_html(text: str):
    html = seen(as_html(Document(title=text, blocks=(Paragraph(text=text), Items(items=(text,))))))
    tags = [tag for tag in html.tags if tag != "bdi"]
    assert tags == ["section", "h2", "p", "ul", "li"]
    assert html.text.count(text) == 3


@pytest.mark.parametrize(
    ("name", "comes_out_as"),
    [
        (
            "<b onclick='x'>&amp;</script>",
            "&lt;b onclick=&#x27;x&#x27;&gt;&amp;amp;&lt;/script&gt;",
        ),
        ("one\u202eowt", "one\ufffdowt"),  # Unicode UAX 9: turns all that follows
        ("a\x00b\x1bc\x85d\ud800e\uffff", "a\ufffdb\ufffdc\ufffdd\ufffde\ufffd"),
        ("דיו גדול 3 of 4", "<bdi>דיו גדול</bdi> 3 of 4"),  # else read as: of 4 3
        ("א and ב", "<bdi>א</bdi> and <bdi>ב</bdi>"),
    ],
)
def test_a_name_turns_nothing_around_it_and_comes_out_as_text(name: str, comes_out_as: str):
    assert f'<p class="rest">{comes_out_as}</p>' in as_html(
        Document(title="t", blocks=(Paragraph(text=name),))
    )


def test_a_table_too_wide_for_a_phone_can_be_moved_by_keys():
    narrow = Table(columns=(Column(head="method"), Column(head="n")), rows=(("paper slip", "12"),))
    pair = (Column(head="method"), Column(head="operator"))
    wide = Table(columns=pair, rows=(("x" * 60, "y" * 60),))
    assert "tabindex" not in as_html(Document(title="t", blocks=(narrow,)))
    assert 'tabindex="0" aria-label="method, operator"' in as_html(
        Document(title="t", blocks=(wide,))
    )


def test_as_markdown():
    assert as_markdown(
        Document(
            title="a|b",
            blocks=(
                Paragraph(text="1. *not* bold <b> &amp; `x`"),
                TABLE,
                Fold(title="more", blocks=(Items(items=("- one",)),)),
            ),
        )
    ) == (
        "## a\\|b\n\n"
        "1\\. \\*not\\* bold \\<b\\> \\&amp; \\`x\\`\n\n"
        "| method | s, mm |\n|---|---:|\n| by volunteer-a: |  |\n"
        "| paper-slip | 0.0167 |\n| light | 0.008 |\n\n"
        "<details><summary>more</summary>\n\n- \\- one\n\n</details>\n"
    )


def part(title: str) -> Part:
    figure = Figure(drawing=Steps(heights=(0, 1)), says="It rises.", name="steps", captioned=False)
    return Part(title=title, blocks=(Paragraph(text=f"{title}.", role=Role.ANSWER), figure))


PARTS = Document(
    title="both", blocks=(part("one"), part("two"), Items(items=("Careful.",), role=Role.CAUTION))
)


def test_what_was_asked_at_once_stands_apart():
    assert as_text(PARTS) == "one.\n\n▁▄\n\n\ntwo.\n\n▁▄\n\n• Careful."
    assert PARTS.said(Role.ANSWER) == ["one.", "two."]
    assert seen(as_html(PARTS)).tags.count("section") == 3
    assert as_markdown(PARTS).count("\n### ") == 2


def test_a_page_says_what_a_figure_shows_even_where_text_need_not():
    assert seen(as_html(PARTS)).text.count("It rises.") == 2
    assert as_markdown(PARTS).count("It rises.") == 2


LAMPS = Question(
    name="lamps",
    version=3,
    result=Lamps,
    document=lambda _result, _explained: DOCUMENT,
)


def lamps(power_w: float | None, share: float | NotYet) -> Lamps:
    lamp = Lamp(name="one", colour=Colour.RED, power_w=power_w)
    return Lamps(
        lamps=(lamp,),
        by_name={"one": lamp},
        share=share,
        pair=(1, "x"),
        about=Centre.DATUM,
        why=share.reason if isinstance(share, NotYet) else None,
    )


@pytest.mark.parametrize("power_w", [None, 4.5, float("nan"), float("inf")])
@pytest.mark.parametrize(
    "share", [0.5, NotYet(reason=Reason(Why.TOO_FEW, what="lamps", given=1, least=2))]
)
def test_data_fit_the_schema_and_are_strict_json(power_w: float | None, share: float | NotYet):
    data = LAMPS.data(lamps(power_w, share))
    jsonschema.Draft202012Validator.check_schema(LAMPS.schema())
    jsonschema.validate(json.loads(json.dumps(data, allow_nan=False)), LAMPS.schema())
    assert (data["question"], data["version"]) == ("lamps", 3)
    assert data["about"] == "the datum"
    assert data["why"] in (None, "lamps: 1 given, at least 2 are needed")
    assert data["share"] in (0.5, {"not_yet": data["why"], "needs_n": None})
    assert data["answer"] == "Bright enough."
    assert data["cautions"] == ["Few were looked at.", "In daylight."]


@pytest.mark.parametrize(
    ("key", "value"),
    [("share", "much"), ("pair", [1]), ("lamps", [{"name": "x"}]), ("more", 1), ("version", 4)],
)
def test_what_does_not_fit_is_seen_by_the_schema(key: str, value: object):
    data = LAMPS.data(lamps(1.0, 0.5)) | {key: value}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, LAMPS.schema())
