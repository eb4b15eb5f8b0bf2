"""The page's own files, which are written into it."""

from functools import cache
from importlib.resources import files


@cache
def asset(name: str) -> str:
    """The text of a file of `assets/`."""
    return files("hostctl.report.html_file").joinpath("assets", name).read_text("utf-8")
