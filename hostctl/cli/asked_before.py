"""What was asked of a report, and what is asked otherwise now."""

from argparse import Namespace
from dataclasses import replace
from typing import TYPE_CHECKING

from hostctl.cli.sources import held_against

if TYPE_CHECKING:
    from hostctl.report.enclosed.enclosure import Asked, Enclosure
    from hostctl.report.sources.looks import Looking
    from hostctl.report.trueness.aimed import Aim

_ASKED = (
    "rig",
    "tolerance",
    "proportion",
    "confidence",
    "looks",
    "margin",
    "method",
    "operator",
    "apart",
    "target",
    "on_target",
    "tie_doubt",
)
"""What makes another question of a report."""


def asks_otherwise(args: Namespace) -> bool:
    """Whether the command line asks anything else than the report did."""
    return any(getattr(args, key, None) is not None for key in _ASKED)


def asked_there(args: Namespace, asked: "Asked") -> Namespace:
    """The command line, filled up with what was asked of a report."""
    here = Namespace(**vars(args))
    here.method, here.operator = args.method or asked.method, args.operator or asked.operator
    here.margin = args.margin or asked.margin
    here.tolerance = args.tolerance or (asked.goal.within_mm if asked.goal else None)
    here.apart = getattr(args, "apart", None) or asked.apart
    if args.target is None and asked.aim is not None:
        aim = asked.aim
        here.target, here.on_target = aim.target_mm, args.on_target or aim.margin_mm
        here.tie_doubt = args.tie_doubt or aim.tie_u_mm
    return here


def look_as_it_was(declared: int | None, look: "Looking") -> "Looking":
    """The one that it was. declared: how many looks are said to be made in all, which is too late
    where it is not what was said then."""
    if declared in (None, look.looks.declared):
        return look
    return replace(look, too_late=declared or look.too_late)


def held_again(report: "Enclosure", aim: "Aim | None") -> "Enclosure":
    """The same, its readings held against a gap where one was said to be wanted."""
    if aim is None:
        return report
    held = (replace(one, material=held_against(one.material, aim)) for one in report.sources)
    return replace(report, sources=tuple(held))
