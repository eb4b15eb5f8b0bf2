"""An analysis as text: the answer, the tables, what is odd, cautions, and how it was worked out."""

from collections.abc import Iterable, Iterator

from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.answer import answer
from hostctl.report.analysis.bias_text import bias_sentences, bias_table
from hostctl.report.analysis.explain import explained
from hostctl.report.analysis.notes import cautions, how
from hostctl.report.analysis.sections import (
    comparison_notes,
    comparison_table,
    crossed_texts,
    hands_sentences,
    oddity_sentences,
)
from hostctl.report.analysis.tables import (
    read_legend,
    read_table,
    setting_legend,
    setting_table,
)
from hostctl.report.document.wrapped import wrapped


def analysis_text(analysis: Analysis, *, explain: bool = False) -> str:
    """All of it. explain: formulas with these numbers in them, too."""
    return "\n\n".join(_parts(analysis, explain=explain))


def _parts(analysis: Analysis, *, explain: bool) -> Iterator[str]:
    yield from (wrapped(sentence) for sentence in answer(analysis))
    name, title = analysis.material.name, analysis.material.title
    yield wrapped(title if title.endswith(name) else f"{name}: {title}")  # a file is its own title
    parts = (
        "nothing set by hand" if analysis.material.nobody_set else "hand, method and rig together"
    )
    yield f"What was read, mm ({parts})\n\n{read_table(analysis)}"
    yield wrapped(read_legend(analysis))
    if analysis.rig is not None or analysis.goal is not None:
        yield f"The settings themselves, mm\n\n{setting_table(analysis)}"
        yield wrapped(setting_legend(analysis))
    if analysis.compared is not None:
        found = analysis.compared
        yield f"Spreads compared\n\n{comparison_table(found)}"
        yield _points([*comparison_notes(found), *hands_sentences(found)])
    if analysis.biases:
        yield f"Mean settings compared, mm\n\n{bias_table(analysis)}"
        yield _points(bias_sentences(analysis))
    odd = list(oddity_sentences(analysis))
    if odd:
        yield f"Out of the ordinary\n\n{_points(odd)}"
    if analysis.crossed:
        studies = "\n\n".join(crossed_texts(analysis))
        yield f"Points, operators and trials together\n\n{studies}"
    yield f"Before believing it\n\n{_points(cautions(analysis))}"
    if explain:
        yield f"With these numbers\n\n{explained(analysis)}"
    yield f"How it was worked out\n\n{_points(how(analysis))}"


def _points(sentences: Iterable[str]) -> str:
    return "\n".join(wrapped(sentence, first="• ") for sentence in sentences)
