"""A document as one HTML file: its style and script within, nothing from elsewhere."""

from html import escape

from hostctl.report.document.as_html import blocks_as_html
from hostctl.report.document.blocks import Document


def page(document: Document, *, head: str = "", foot: str = "") -> str:
    """The whole file. head: metas.  foot: what stands after all that is read, as its data."""
    title = escape(document.title)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{title}</title>\n{head}\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n"
        f"{blocks_as_html(document.blocks)}\n</main>\n{foot}\n</body>\n</html>\n"
    )
