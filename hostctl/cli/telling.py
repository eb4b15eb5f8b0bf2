"""How every command tells a result: in words, or as JSON."""

import json
import sys
from argparse import ArgumentParser
from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from hostctl.report.document.question import Question

Result = TypeVar("Result")


def add_json(parser: ArgumentParser) -> None:
    """Declare the option."""
    parser.add_argument("--json", action="store_true", help="the figures for other programs")


def ask_patience(what: str) -> None:
    """Say what takes a while, before it begins; to people only, and never among results."""
    if sys.stderr.isatty():
        print(what, file=sys.stderr, flush=True)


def open_in_browser(page: Path) -> None:
    """Show a page that was written; say so where nothing can."""
    import webbrowser

    if not webbrowser.open(page.resolve().as_uri()):
        print(f"No browser could be started here: open {page} in one.", file=sys.stderr)


def tell(
    question: Question[Result], result: Result, *, as_json: bool, explained: bool = False
) -> None:
    """Print it. explained: with the formulas, and these numbers in them."""
    if as_json:
        print_data(question.data(result))
    else:
        print(question.text(result, explained=explained))


def print_data(data: Mapping[str, Any]) -> None:
    """Print a result as plain data."""
    print(json_of(data))


def json_of(data: Mapping[str, Any]) -> str:
    """Plain data as text for other programs."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1)
