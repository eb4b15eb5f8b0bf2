"""`hostctl report RUN|FILE …`: what was found as one file that convinces a doubter."""

import sys
from argparse import ArgumentParser, Namespace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, cast

from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.cli.output import new_file, output
from hostctl.cli.sources import add_sources
from hostctl.errors import HostctlError, UsageError

if TYPE_CHECKING:
    from hostctl.cli.report_made import Made
    from hostctl.report.document.blocks import Document

EXAMPLE = "hostctl report 2 -o three-methods.html"
FORMS = ("md", "json", "svg", "png")


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    add_sources(parser)
    parser.add_argument(
        "--apart",
        choices=("run", "week", "machine"),
        help="hold runs, weeks or machines apart and compare them, instead of taking them as one",
    )
    parser.add_argument(
        "--letters", action="store_true", help="letters instead of people's names, in the data too"
    )
    written = parser.add_argument_group("what is written")
    form = written.add_mutually_exclusive_group()
    form.add_argument("--md", action="store_true", help="Markdown instead of a page")
    form.add_argument("--json", action="store_true", help="what was found, for other programs")
    form.add_argument("--svg", metavar="FIGURE", help="one figure alone as SVG, 1920 x 1080")
    form.add_argument("--png", metavar="FIGURE", help="the same as PNG")
    written.add_argument(
        "-o", metavar="FILE", help="write there, a new file; without it a name is made up"
    )
    written.add_argument(
        "--outcome",
        metavar="FILE",
        help="what it comes to in short, beside it: answer, dots, cautions, next step, as JSON",
    )
    written.add_argument("--open", action="store_true", help="show it in the browser when written")


def act(args: Namespace) -> int:
    """Write it; print the file's name, and the answer. Raises StoreError, DataError, UsageError."""
    from hostctl.cli.telling import open_in_browser
    from hostctl.report.kinds.outcome import answer_of

    path, report = written(args)
    print(path)
    print(" ".join(answer_of(report.document)))
    if path.suffix == ".html" and for_people():
        from hostctl.cli.next_steps.after_looking import after_report

        say_beside([*after_report(path)])
    if args.open:
        open_in_browser(path)
    return 0


def written(args: Namespace) -> "tuple[Path, Made]":
    """The file, once it is written, and what is in it. Raises as `act`."""
    from hostctl.cli.long_work import LongWork
    from hostctl.cli.report_made import STAGES, made

    if args.o is not None:
        _check_name(args, Path(args.o))
    work = LongWork(STAGES, shown=sys.stderr.isatty())
    report = made(args, datetime.now(UTC), work)
    path = Path(args.o) if args.o is not None else Path(f"{report.stem}{_ending(args)}")
    with work.stage("Writing"):
        _write(args, report, path)
        if args.outcome is not None:
            _write_outcome(report, args.outcome)
    return path, report


def _write_outcome(report: "Made", file: str) -> None:
    """Raises HostctlError where it can't be written."""
    from hostctl.cli.telling import json_of
    from hostctl.report.kinds.outcome import as_data

    with output(file) as out:
        out.write(f"{json_of(as_data(report.outcome()))}\n")


def _check_name(args: Namespace, path: Path) -> None:
    """Before the work is done. Raises UsageError for the name of another kind of file, HostctlError
    where one is there already."""
    ending = path.suffix.lower()
    others = {".pdf", ".html", *(f".{form}" for form in FORMS)} - {_ending(args)}
    if ending in others:
        what = f"{path.name} is no name for what is written, which is {_ending(args)[1:]}"
        hint = "Write .html, open it, and print it." if ending == ".pdf" else "Name it so."
        raise UsageError("hostctl report", what, hint)
    if path.is_file():
        raise HostctlError(
            str(path), "is there already", "Name another file, or move it away first."
        )


def _ending(args: Namespace) -> str:
    return next((f".{form}" for form in FORMS if getattr(args, form)), ".html")


def _write(args: Namespace, report: "Made", path: Path) -> None:
    """Raises HostctlError where it can't be written; UsageError for a figure that isn't there."""
    if args.png:
        from hostctl.report.figures.alone import as_png

        picture = as_png(_alone(report.document, args.png))
        with new_file(path, binary=True) as file:
            cast(BinaryIO, file).write(picture)
        return
    data_file = report.file if _ending(args) == ".html" else None
    if data_file is None:
        with output(str(path)) as out:
            out.write(_text(args, report))
        return
    with output(str(path)) as out, output(str(path.with_name(data_file))) as data:
        data.write(report.json_text)  # whatever breaks off now leaves neither file
        out.write(_page(report))
        data.flush()
        out.flush()


def _text(args: Namespace, report: "Made") -> str:
    if args.md:
        from hostctl.report.document.as_markdown import as_markdown

        return as_markdown(report.document)
    if args.json:
        from hostctl.cli.telling import json_of

        return f"{json_of(report.data())}\n"
    if args.svg:
        return _alone(report.document, args.svg)
    return _page(report)


def _page(report: "Made") -> str:
    """The page; its data are not in it where they are many."""
    from hostctl.report.enclosed.writing import metas_of, script_of, sealed
    from hostctl.report.html_file.every_reading import every_reading
    from hostctl.report.html_file.page import page

    file = report.file
    return sealed(
        page(
            report.document,
            head=metas_of(report.json_text, file),
            readings=every_reading(report.sources, file),
            foot=script_of(report.json_text) if file is None else "",
        )
    )


def _alone(document: "Document", name: str) -> str:
    """One figure by its name. Raises UsageError, with the names that there are."""
    from hostctl.report.figures.alone import alone

    figures = document.figures()
    if name not in figures:
        what = f"there is no figure '{name}' in this report"
        raise UsageError("hostctl report", what, f"There are: {', '.join(figures)}.")
    return alone(figures[name], document.title)
