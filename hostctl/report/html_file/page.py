"""A document as one HTML file: its style and script within, nothing from elsewhere.

What begins the document, up to its first heading, is the first screen; a list of contents follows
where there is enough to list. The policy in its head lets nothing be fetched or sent, and no script
run but the one that is written here.
"""

from base64 import b64encode
from hashlib import sha256
from itertools import takewhile

from hostctl.report.document.as_html import Frame, blocks_as_html
from hostctl.report.document.blocks import Block, Document, Heading, Paragraph, Part, Role
from hostctl.report.document.html_words import in_attribute, words
from hostctl.report.html_file.addresses import Addresses
from hostctl.report.html_file.asset import asset
from hostctl.report.html_file.every_reading import ADDRESS, HEADING

CONTENTS = "Contents"
LEAST_LISTED = 4  # headings; fewer are found without a list

_POLICY = (
    "default-src 'none'; script-src 'sha256-{hash}'; style-src 'unsafe-inline'; img-src data:; "
    "base-uri 'none'; form-action 'none'"
)


def page(document: Document, *, head: str = "", readings: str = "", foot: str = "") -> str:
    """The whole file. head: metas.  readings: every reading, as `every_reading` gives it.
    foot: what stands after all that is read, as its data."""
    script, addresses = asset("readings.js"), Addresses()
    question, first, rest = _parted(document)
    frame = Frame(level=2, address=addresses.of)
    opening = blocks_as_html(first, frame)
    told = blocks_as_html(rest, frame)
    return f"""<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{_policy(script)}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{in_attribute(document.title)}</title>
{head}
<style>
{asset("report.css")}</style>
</head>
<body>
<main>
<header>
{_headline(document.title, question)}
{opening}
</header>
{_contents(addresses, readings=bool(readings))}
{told}
{readings}
</main>
{foot}
<script>{script}</script>
</body>
</html>
"""


def _parted(document: Document) -> tuple[str, tuple[Block, ...], tuple[Block, ...]]:
    """The question, what stands on the first screen besides, and the rest."""
    blocks, question = document.blocks, ""
    match blocks:
        case (Paragraph(role=Role.QUESTION, text=question), *_):
            blocks = blocks[1:]
    first = tuple(takewhile(lambda block: not isinstance(block, Heading | Part), blocks))
    return question, first, blocks[len(first) :]


def _headline(title: str, question: str) -> str:
    if not question:
        return f"<h1>{words(title)}</h1>"
    return f'<p class="of">{words(title)}</p>\n<h1>{words(question)}</h1>'


def _contents(addresses: Addresses, *, readings: bool) -> str:
    listed = [(at, text) for at, text, level in addresses.given if level == 2]
    listed += [(ADDRESS, HEADING)] if readings else []
    if len(listed) < LEAST_LISTED:
        return ""
    lines = "\n".join(f'<li><a href="#{at}">{words(text)}</a></li>' for at, text in listed)
    return f'<nav aria-label="{CONTENTS}">\n<ul>\n{lines}\n</ul>\n</nav>'


def _policy(script: str) -> str:
    return _POLICY.format(hash=b64encode(sha256(script.encode()).digest()).decode())
