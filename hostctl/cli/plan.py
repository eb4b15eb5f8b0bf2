"""`hostctl plan`: how many trials a question takes, before anybody turns a screw."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.number import number, run_number
from hostctl.cli.telling import add_json, tell
from hostctl.errors import UsageError
from hostctl.report.planning.wishes import CONFIDENCE, LIMITS, POWER, PROPORTION, Wishes

if TYPE_CHECKING:
    from hostctl.report.planning.plan import Unanswerable
    from hostctl.report.planning.result import Plan
    from hostctl.report.planning.run import PastRun

EXAMPLE = "hostctl plan --claim 0.05 --expected-sd 0.015"
_OPTIONS = {"within_mm": "claim", "expected_sd_mm": "expected_sd", "bias_mm": "bias"}
"""Wishes that an option calls otherwise."""


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
    add_json(parser)
    add_database(parser)


def act(args: Namespace) -> int:
    """Print it. Raises UsageError, StoreError, DataError."""
    _check(args)
    found = _plan(args)
    from hostctl.report.planning.document import PLAN

    tell(PLAN, found, as_json=args.json)
    return 0


def _plan(args: Namespace) -> "Plan":
    from hostctl.report.planning.plan import Unanswerable, plan

    wishes = Wishes(
        know_within=None if args.know_within is None else args.know_within / 100,
        see_ratio=args.see_ratio,
        within_mm=args.claim,
        expected_sd_mm=args.expected_sd,
        bias_mm=args.bias,
        proportion=args.proportion,
        confidence=args.confidence,
        power=args.power,
        trial_seconds=args.trial_seconds,
    )
    try:
        return plan(wishes, _past_run(args))
    except Unanswerable as why:
        raise _unanswered(args, why) from why


def _past_run(args: Namespace) -> "PastRun | None":
    if args.run is None:
        return None
    from hostctl.report.planning.run import past_run

    return past_run(chosen_database(args), args.run)


def _unanswered(args: Namespace, unanswerable: "Unanswerable") -> UsageError:
    """What no sensible number of trials answers is the option's fault."""
    from hostctl.report.document.reasons import error_words

    wish, why = unanswerable.wish, unanswerable.__cause__
    option = f"--{wish.replace('_', '-')} {getattr(args, wish):g}"
    words = error_words(why) if isinstance(why, Exception) else ""
    return _wrong(f"{option}: {words}", "Ask for a coarser answer.")


def _as_percent(within: float | None) -> str | None:
    """What to say to whoever gave a share where per cent are wanted."""
    if within is None or not 0 < within < 1:
        return None
    return f"Did you mean {within * 100:g} (per cent)?"


def _check(args: Namespace) -> None:
    for wish, limits in LIMITS.items():
        _check_limits(args, _OPTIONS.get(wish, wish), *limits)
    if args.see_ratio == 1:
        what = "--see-ratio 1 asks to tell two equal spreads apart"
        raise _wrong(what, "Give the ratio that matters, as 1.5.")
    for name in ("expected_sd", "bias"):
        if getattr(args, name) is not None and args.claim is None:
            raise _wrong(f"--{name.replace('_', '-')} needs --claim")
    if args.bias is not None and args.expected_sd is None:
        raise _wrong("--bias needs --expected-sd")


def _check_limits(args: Namespace, name: str, low: float, high: float) -> None:
    in_percent = name == "know_within"
    if in_percent:
        low, high = low * 100, high * 100
    value = getattr(args, name)
    if value is None or low <= value <= high:
        return
    option = f"--{name.replace('_', '-')}"
    what = f"{option} is {value:g}, must be from {_plain(low)} to {_plain(high)}"
    as_share = high < 1 < value < 100  # somebody thinks in percent
    as_percent = _as_percent(value) if in_percent else None
    raise _wrong(what, f"As a share: {value / 100:g}" if as_share else as_percent)


def _plain(bound: float) -> str:
    return f"{bound:.6f}".rstrip("0").rstrip(".")


def _wrong(what: str, next_step: str | None = None) -> UsageError:
    return UsageError("hostctl plan", what, next_step or "See: hostctl plan --help")
