"""A user's pattern for an indicator's lines: what is refused, and that none can hang."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hostctl.config.load import study_from
from hostctl.config.parts.gauge import IndicatorLine, Unit
from hostctl.config.parts.line_pattern import MOST_ALTERNATIVES, found_by, line_pattern
from hostctl.config.yaml_text import Source
from hostctl.errors import ConfigError


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        (r"(\d+", "is no regular expression: missing"),
        (r"([0-9", "is no regular expression: unterminated"),
        (r"\d+", "has 0 groups, and one is needed"),
        (r"(\d+)([.,]\d+)", r"has 2 groups, and one is needed.*\(\?: \)"),
        (r".*?(\d+)", "has '.' repeated"),
        (r"(.+)", "has '.' repeated"),
        (r"(.{1,9})", "has '.' repeated"),
        (r"(\d+?)x", "as little as it can"),
        (r"(a)\1", "more than plain groups"),
        (r"(?=x)(\d)", "more than plain groups"),
        (r"(?i)(a)", "more than plain groups"),
        ("(a|b)" + "(?:a|b)" * MOST_ALTERNATIVES, "has more than 4 alternatives"),
        ("(" + "a" * 99 + ")", "is longer than 100 letters"),
    ],
)
def test_what_is_refused_and_why(pattern, why):
    with pytest.raises(ValueError, match=why):
        line_pattern(pattern)


@pytest.mark.parametrize(
    ("pattern", "line", "number"),
    [
        (r"^[A-Z]*\s*([-+]?\s*\d+(?:[.,]\d+)?)\s*mm", "AB  - 0,015 mm", "- 0,015"),
        (r"(?P<number>\d+)(mm|um)", "12um", "12"),
        (r"[\]x]([^]]+)[.]$", "]12.5.", None),
        (r"[\]x](\d+[.]\d)[.]$", "]12.5.", "12.5"),
        (r"=(\d{1,3})\b", "x=12 y", "12"),
        (r"\x3d(\d+)", "x=12", "12"),
        (r"(\d++)", "12", "12"),
    ],
)
def test_what_is_found(pattern, line, number):
    assert found_by(line_pattern(pattern), line) == number


@pytest.mark.parametrize(
    "pattern",
    [
        "(a+)+b",
        "((?:a|a)*)*b",
        "((?:a*)*)*b",
        "(a*)a*a*a*a*a*a*b",
        "(a{,}){,}b",
        "(a{1,})" + "a{0,90}" * 10 + "b",
        "(" + "a?" * 40 + "b)",
        "((?:a?){90}b)",
        "(a|a)(?:a|a)(?:a|a)(?:a|a)b",
    ],
)
@pytest.mark.timeout(20)
def test_a_pattern_that_would_take_years_takes_no_time(pattern):
    """Backtracking, each of these goes through more ways than could be counted on 100 letters."""
    try:
        bounded = line_pattern(pattern)
    except ValueError:
        bounded = line_pattern(pattern.replace("(a|a)", "(?P<number>a|a)"))
    assert found_by(bounded, "a" * 100) is None


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (r"pattern: '(\d+'", r"s.yaml:\d+: gauge.line.pattern: is no regular expression: missing"),
        ("pattern: '[0-9]+'", r"gauge.line.pattern: has 0 groups, and one is needed"),
        ("unit: cm", "gauge.line.unit: can.t be .cm.. Known here: in, mm, um."),
        ('request: "ü"', r"gauge.line.request: is to be plain ASCII"),
        ('request: ""', r"gauge.line.request"),
        ("alike: 1", r"gauge.line.alike"),
        ("within_s: 0", r"gauge.line.within_s"),
        ("alike_to_mm: 0", r"gauge.line.alike_to_mm"),
        ("patern: x", r"gauge.line.patern is no key here. Did you mean 'pattern'"),
    ],
)
def test_a_mistake_in_the_file_is_told_with_its_line(line, said):
    text = (
        "study: s\ntitle: S\nkind: rig-check\npoints: [front-left]\ntrials: 5\n"
        f"gauge:\n  kind: serial-indicator\n  port: /dev/a\n  line:\n    {line}\n"
    )
    with pytest.raises(ConfigError, match=said):
        study_from(Source("s.yaml", text))


def test_every_key_of_a_line_is_read_from_a_file():
    text = (
        "study: s\ntitle: S\nkind: rig-check\npoints: [front-left]\ntrials: 5\n"
        "gauge:\n  kind: serial-indicator\n  port: /dev/a\n  device: /dev/b\n"
        "  line: {pattern: '(\\d+)', unit: in, request: \"?\\r\", alike: 4, within_s: 2,\n"
        "         alike_to_mm: 0.02}\n"
    )
    line = study_from(Source("s.yaml", text)).gauge.line
    assert line == IndicatorLine(
        pattern=r"(\d+)", unit=Unit.IN, request="?\r", alike=4, within_s=2.0, alike_to_mm=0.02
    )


PIECES = ["a", "b", "[ab]", "\\w", "(?:a|b)", "(?:ab*)", "a*", "b+", "[ab]{0,9}", "(?:a+b?)*", "x"]


@given(st.lists(st.sampled_from(PIECES), max_size=9), st.text("abx", max_size=100))
@pytest.mark.timeout(60)
def test_what_is_found_would_be_found_by_the_same_pattern_with_backtracking_too(pieces, line):
    pattern = f"({''.join(pieces)})"
    try:
        bounded = line_pattern(pattern)
    except ValueError:
        return
    if found_by(bounded, line[:20]) is not None:
        assert re.search(pattern, line[:20]) is not None
    found_by(bounded, line)
