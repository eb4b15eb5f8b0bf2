"""The tables of an analysis: what was read, and the settings themselves with their verdicts."""

from hostctl.metrology.basis.estimate import Estimate, NotYet
from hostctl.metrology.basis.reference import settings_of
from hostctl.metrology.rounded.rounding import RoundedSpread
from hostctl.report.analysis.analysis import Analysis
from hostctl.report.analysis.judgement import Judged, Result
from hostctl.report.analysis.words import Words, percent, settings_of_result, verdict_cell
from hostctl.report.document.table import table


def read_table(analysis: Analysis) -> str:
    """What was read, rig included: n, blocks, s with its interval, range."""
    words = Words.of(analysis)
    has_off = any(isinstance(result.off, Estimate) for result in analysis.results)
    heads = ["method", "operator", "n", "blocks", "s", "95 % of s", "range"]
    heads += ["off by"] if has_off else []
    rows = [_read_row(analysis, result, words, has_off) for result in analysis.results]
    if analysis.rig is not None:
        spread = analysis.rig.spread
        cells = [f"rig, {analysis.rig.name}", "", str(spread.n), str(spread.blocks)]
        rows.append([*cells, *_spread_cells(spread, words), "", *([""] if has_off else [])])
    return table(heads, rows, right=set(range(2, len(heads))))


def setting_table(analysis: Analysis) -> str:
    """The settings themselves: the rig taken out where it can be, the reach, the verdict."""
    words = Words.of(analysis)
    goal = analysis.goal
    heads = ["method", "operator", "s alone", "95 % of s"]
    heads += [f"{percent(goal.proportion)} in ±", "verdict"] if goal else []
    rows = [_setting_row(analysis, result, words) for result in analysis.results]
    return table(heads, rows, right={2, 3, 4})


def read_legend(analysis: Analysis) -> str:
    """What the columns of the first table are."""
    n = {
        "first": "n counts settings: the readings, and each block's zero, which is one too.",
        "previous": "n counts settings, s is that of one; the readings are differences of two.",
        "datum": "n counts readings.",
    }[analysis.material.reference]
    has_off = any(isinstance(result.off, Estimate) for result in analysis.results)
    off = " off by: mean less datum, 95 % within the ±." if has_off else ""
    return (
        f"{n} s is pooled over blocks, each about its own mean; range is the widest block's.{off}"
    )


def setting_legend(analysis: Analysis) -> str:
    """What the columns of the second table are."""
    alone = "s alone: of the setting, the rig taken out as variances."
    if analysis.goal is None:
        return alone
    share, sure = percent(analysis.goal.proportion), percent(analysis.goal.confidence)
    return (
        f"{alone} {share} in ±: the half-width that holds {share} of settings, with {sure} "
        "confidence. +N: about so many further trials would probably decide."
    )


def _read_row(analysis: Analysis, result: Result, words: Words, has_off: bool) -> list[str]:
    blocks = [settings_of(values, analysis.material.reference) for values in result.values]
    widest = max(float(max(block)) - float(min(block)) for block in blocks)
    row = [result.method, result.operator, str(settings_of_result(result)), str(len(blocks))]
    row += [*_spread_cells(result.spread, words), words.mm(widest)]
    if has_off:
        row.append(words.with_reach(result.off) if isinstance(result.off, Estimate) else "")
    return row


def _spread_cells(spread: RoundedSpread | NotYet, words: Words) -> tuple[str, str]:
    if isinstance(spread, NotYet):
        return "not yet", ""
    value = words.mm(spread.quoted.value) if isinstance(spread.quoted, Estimate) else "small"
    return value, words.range(spread.interval)


def _setting_row(analysis: Analysis, result: Result, words: Words) -> list[str]:
    row = [result.method, result.operator]
    if isinstance(result.setting, NotYet):
        row += ["not known" if analysis.rig_wanted else "as read", ""]
    else:
        value = result.setting.value
        row += ["small" if value is None else words.mm(value), words.range(result.setting.interval)]
    if analysis.goal is not None:
        reach = words.mm(result.judged.reach.high) if isinstance(result.judged, Judged) else ""
        row += [reach, verdict_cell(result.judged)]
    return row
