"""`hostctl plan`: how many trials a question takes, before anybody turns a screw."""

import json
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import number, run_number
from hostctl.errors import DataError, UsageError

if TYPE_CHECKING:
    from hostctl.metrology.claims.claim import Claim
    from hostctl.store.rows import RunRecord

EXAMPLE = "hostctl plan --claim 0.05 --expected-sd 0.015"
PROPORTION, CONFIDENCE, POWER = 0.95, 0.95, 0.8
Part = tuple[str, str, dict[str, Any]]  # its key for programs, its text, its figures


def add_arguments(parser: ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--know-within", type=number, metavar="PERCENT", help="know a spread to within ± so much"
    )
    parser.add_argument(
        "--see-ratio", type=number, metavar="R", help="see that one spread is R times another"
    )
    parser.add_argument(
        "--claim", type=number, metavar="MM", help="prove that settings lie within ± so much"
    )
    parser.add_argument(
        "--expected-sd", type=number, metavar="MM", help="with --claim: the spread you expect"
    )
    parser.add_argument(
        "--bias", type=number, metavar="MM", help="with --claim: distance of the mean from a datum"
    )
    parser.add_argument(
        "--run",
        type=run_number,
        metavar="RUN",
        help="take spreads, tolerance and time from this run",
    )
    parser.add_argument(
        "--proportion", type=number, metavar="P", help=f"of settings, left out: {PROPORTION}"
    )
    parser.add_argument(
        "--confidence", type=number, metavar="C", help=f"of what is said, left out: {CONFIDENCE}"
    )
    parser.add_argument(
        "--power", type=number, default=POWER, metavar="P", help=f"chance of success: {POWER}"
    )
    parser.add_argument(
        "--trial-seconds", type=number, metavar="S", help="how long a trial takes; else from --run"
    )
    parser.add_argument("--json", action="store_true", help="the figures for other programs")
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises UsageError, StoreError, DataError."""
    _check(args)
    parts = list(_parts(args))
    if args.json:
        print(json.dumps({key: figures for key, _, figures in parts}, indent=2))
        return 0
    from hostctl.report.document.plain_ascii import fit_for
    from hostctl.report.planning.text import cautions_text

    text = "\n\n\n".join(text for _, text, _ in parts)
    print(fit_for(sys.stdout, f"{text}\n\n{cautions_text()}"))
    return 0


def _parts(args: Namespace) -> Iterator[Part]:
    from hostctl.report.planning import json as planning_json
    from hostctl.report.planning import planning
    from hostctl.report.planning import text as planning_text

    record = _record(args)
    seconds = _seconds(args, record)
    confidence = CONFIDENCE if args.confidence is None else args.confidence
    if args.know_within is not None:
        with _asking(f"--know-within {args.know_within:g}"):
            know = planning.plan_to_know(args.know_within / 100, confidence)
        yield "know", planning_text.know_text(know, seconds), planning_json.know_json(know)
    if args.see_ratio is not None:
        with _asking(f"--see-ratio {args.see_ratio:g}"):
            ratio = planning.plan_to_see(args.see_ratio, args.power, 1 - confidence)
        yield "see", planning_text.ratio_text(ratio, seconds), planning_json.ratio_json(ratio)
    if args.claim is not None and args.expected_sd is not None:
        claim = planning.plan_to_prove(
            _claim(args, record), args.expected_sd, args.bias or 0.0, args.power
        )
        yield "prove", planning_text.claim_text(claim, seconds), planning_json.claim_json(claim)
    elif record is not None:
        yield _by_run(args, record, seconds)
    elif args.claim is not None:
        guessed = planning.guessed_spreads(_claim(args, record), args.power)
        text = planning_text.guessed_text(guessed, seconds)
        yield "prove", text, {"guesses": [planning_json.claim_json(one) for one in guessed]}
    if not _asked(args):
        from hostctl.report.planning.overview import overview_text

        text = overview_text(args.power, confidence)
        yield "overview", text, planning_json.overview_json(args.power, confidence)


@contextmanager
def _asking(option: str) -> Iterator[None]:
    """What no sensible number of trials answers is the option's fault. Raises UsageError."""
    try:
        yield
    except ValueError as why:
        from hostctl.report.document.reasons import error_words

        raise UsageError(
            "hostctl plan", f"{option}: {error_words(why)}", "Ask for a coarser answer."
        ) from why


def _as_percent(within: float | None) -> str | None:
    """What to say to whoever gave a share where per cent are wanted."""
    if within is None or not 0 < within < 1:
        return None
    return f"Did you mean {within * 100:g} (per cent)?"


def _asked(args: Namespace) -> bool:
    return any(
        each is not None for each in (args.know_within, args.see_ratio, args.claim, args.run)
    )


def _by_run(args: Namespace, record: "RunRecord", seconds: float | None) -> Part:
    from hostctl.report.planning.json import run_json
    from hostctl.report.planning.run import spreads_found
    from hostctl.report.planning.text import run_text
    from hostctl.report.sources.rig_check import rig_check_for

    claim = _claim(args, record)
    found = spreads_found(record, claim, args.power)
    if not found:
        raise DataError(f"run {args.run}", "it has no spread yet", "Carry the run on first.")
    rig = rig_check_for(chosen_database(args), args.run)
    text = run_text(args.run, found, claim, power=args.power, seconds=seconds, rig=rig)
    return "by_run", text, {**run_json(args.run, found), "trial_seconds": seconds}


def _claim(args: Namespace, record: "RunRecord | None") -> "Claim":
    """The claim that was named, or the tolerance of the run's study."""
    from hostctl.report.planning.planning import claim_about
    from hostctl.report.planning.run import zero_is_known
    from hostctl.report.sources.run_material import study_goal

    goal = study_goal(record.summary.new) if record is not None else None
    within_mm = goal.within_mm if args.claim is None and goal is not None else args.claim
    if within_mm is None:
        raise UsageError(
            f"run {args.run}", "its study names no tolerance", "Give one: --claim 0.05"
        )
    return claim_about(
        within_mm,
        proportion=args.proportion or (goal.proportion if goal else PROPORTION),
        confidence=args.confidence or (goal.confidence if goal else CONFIDENCE),
        datum=args.bias is not None or (record is not None and zero_is_known(record)),
    )


def _record(args: Namespace) -> "RunRecord | None":
    from hostctl.store.reading import read_record

    return None if args.run is None else read_record(chosen_database(args), args.run)


def _seconds(args: Namespace, record: "RunRecord | None") -> float | None:
    from hostctl.report.planning.run import seconds_per_trial

    if args.trial_seconds is not None:
        return float(args.trial_seconds)
    return seconds_per_trial(record) if record is not None else None


def _check(args: Namespace) -> None:
    for name, low, high in (
        ("know_within", 1, 99),
        ("see_ratio", 0.001, 1000),
        ("claim", 1e-6, 1000),
        ("expected_sd", 1e-6, 1000),
        ("bias", -1000, 1000),
        ("proportion", 0.501, 0.9999),
        ("confidence", 0.501, 0.9999),
        ("power", 0.05, 0.9999),
        ("trial_seconds", 0.001, 1e6),
    ):
        value = getattr(args, name)
        if value is not None and not low <= value <= high:
            option = f"--{name.replace('_', '-')}"
            what = f"{option} is {value:g}, must be from {_plain(low)} to {_plain(high)}"
            as_share = high < 1 < value < 100  # somebody thinks in percent
            as_percent = _as_percent(value) if name == "know_within" else None
            raise _wrong(what, f"As a share: {value / 100:g}" if as_share else as_percent)
    if args.see_ratio == 1:
        what = "--see-ratio 1 asks to tell two equal spreads apart"
        raise _wrong(what, "Give the ratio that matters, as 1.5.")
    for name in ("expected_sd", "bias"):
        if getattr(args, name) is not None and args.claim is None:
            raise _wrong(f"--{name.replace('_', '-')} needs --claim")
    if args.bias is not None and args.expected_sd is None:
        raise _wrong("--bias needs --expected-sd")


def _plain(bound: float) -> str:
    return f"{bound:.6f}".rstrip("0").rstrip(".")


def _wrong(what: str, next_step: str | None = None) -> UsageError:
    return UsageError("hostctl plan", what, next_step or "See: hostctl plan --help")
