"""`hostctl plan`: how many trials a question takes, before anybody turns a screw."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING

from hostctl.cli.database import add_database, chosen_database
from hostctl.cli.next_steps.step import for_people, say_beside
from hostctl.cli.number import number, run_number
from hostctl.cli.telling import add_json, ask_patience, tell
from hostctl.errors import UsageError
from hostctl.report.planning.wishes import (
    CONFIDENCE,
    LIMITS,
    POWER,
    PROPORTION,
    RESOLUTION_MM,
    RIG_TRIALS,
    Wishes,
)

if TYPE_CHECKING:
    from hostctl.report.planning.plan import Unanswerable
    from hostctl.report.planning.result import Plan
    from hostctl.report.planning.run import PastRun

EXAMPLE = "hostctl plan --claim 0.05 --expected-sd 0.015"
_OPTIONS = {
    "within_mm": "claim",
    "expected_sd_mm": "expected_sd",
    "bias_mm": "bias",
    "resolution_mm": "resolution",
    "rig_sd_mm": "rig_sd",
}
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
        "--expected-sd",
        type=number,
        metavar="MM",
        help="the spread you expect; with --see-ratio the smaller",
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
    _add_study(parser)
    add_json(parser)
    add_database(parser)


def _add_study(parser: ArgumentParser) -> None:
    """What the study is taken to be."""
    parser.add_argument(
        "--resolution", type=number, metavar="MM", help=f"a graduation, left out: {RESOLUTION_MM}"
    )
    parser.add_argument(
        "--rig-sd", type=number, metavar="MM", help="of the rig, if a rig check is taken out"
    )
    parser.add_argument(
        "--rig-trials", type=run_number, metavar="N", help=f"of that check, left out: {RIG_TRIALS}"
    )
    parser.add_argument(
        "--blocks", type=run_number, default=1, metavar="B", help="that share the trials: 1"
    )
    parser.add_argument(
        "--pairs",
        type=run_number,
        default=1,
        metavar="P",
        help="of methods compared: 1 (k methods: k(k-1)/2)",
    )


def act(args: Namespace) -> int:
    """Print it. Raises UsageError, StoreError, DataError."""
    _check(args)
    found = _plan(args)
    from hostctl.report.planning.document import PLAN

    tell(PLAN, found, as_json=args.json)
    if for_people() and not args.json:
        from hostctl.cli.next_steps.after_looking import after_plan

        say_beside([*after_plan(args.run, chosen_database(args))])
    return 0


def _plan(args: Namespace) -> "Plan":
    from hostctl.report.planning.plan import Unanswerable, plan, takes_seconds

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
        resolution_mm=args.resolution or RESOLUTION_MM,
        rig_sd_mm=args.rig_sd,
        rig_trials=args.rig_trials or RIG_TRIALS,
        blocks=args.blocks,
        pairs=args.pairs,
    )
    if takes_seconds(wishes):
        ask_patience("Thousands of studies are simulated; that takes some seconds.")
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
    option = f"{_option(wish)} {getattr(args, wish):g}"
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
    if args.expected_sd is not None and args.claim is None and args.see_ratio is None:
        raise _wrong("--expected-sd needs --claim or --see-ratio")
    needs = {
        "bias": ("claim", "expected_sd"),
        "rig_sd": ("expected_sd",),
        "rig_trials": ("rig_sd",),
    }
    for name, others in needs.items():
        missing = [other for other in others if getattr(args, other) is None]
        if getattr(args, name) is not None and missing:
            raise _wrong(f"{_option(name)} needs {_option(missing[0])}")


def _check_limits(args: Namespace, name: str, low: float, high: float) -> None:
    in_percent = name == "know_within"
    if in_percent:
        low, high = low * 100, high * 100
    value = getattr(args, name)
    if value is None or low <= value <= high:
        return
    option = _option(name)
    what = f"{option} is {value:g}, must be from {_plain(low)} to {_plain(high)}"
    as_share = high < 1 < value < 100  # somebody thinks in percent
    as_percent = _as_percent(value) if in_percent else None
    raise _wrong(what, f"As a share: {value / 100:g}" if as_share else as_percent)


def _option(name: str) -> str:
    return f"--{name.replace('_', '-')}"


def _plain(bound: float) -> str:
    return f"{bound:.6f}".rstrip("0").rstrip(".")


def _wrong(what: str, next_step: str | None = None) -> UsageError:
    return UsageError("hostctl plan", what, next_step or "See: hostctl plan --help")
