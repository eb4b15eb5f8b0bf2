"""Intervals by the functions of before, of studies given as JSON; only that older tree can run it.

Started by `widths`, with PYTHONPATH at a checkout of commit a06ce2c. In: a list of kinds, each
"spread", "setting" or "ratio" with samples, each a list of blocks, and their reference. Out: low
and high of each, null where none was given.
"""

import json
import sys
from typing import Any

from hostctl.metrology.comparison.equivalent_freedom import equivalent_spread

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.comparison.spread_ratio import sd_ratio
from hostctl.metrology.rounded.rounding import rounded_spread
from hostctl.metrology.spread.setting import setting_of


def interval(kind: str, samples: list[Any], reference: str) -> list[float] | None:
    """Of one study; the second sample is the rig check, or what is compared with."""
    spreads = [rounded_spread(blocks, resolution=1.0, reference=reference) for blocks in samples]
    if kind == "spread":
        found = spreads[0].interval
    elif kind == "setting":
        setting = setting_of(*spreads)
        if isinstance(setting, NotYet):
            return None
        found = setting.interval
    else:
        first, second = map(equivalent_spread, spreads)
        if isinstance(first, NotYet) or isinstance(second, NotYet):
            return None
        ratio = sd_ratio(first, second)
        if isinstance(ratio, NotYet):
            return None
        found = ratio.interval
    return [found.low, found.high]


def main() -> None:
    """From standard input to standard output; each distinct study once."""
    known: dict[str, list[float] | None] = {}
    out = []
    for study in json.load(sys.stdin):
        key = json.dumps(study)
        if key not in known:
            known[key] = interval(study["kind"], study["samples"], study["reference"])
        out.append(known[key])
    json.dump(out, sys.stdout)


if __name__ == "__main__":
    main()
