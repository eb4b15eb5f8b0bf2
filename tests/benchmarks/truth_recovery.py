"""How often each interval holds the truth that the simulation was given, over many studies.

    python tests/benchmarks/truth_recovery.py [STUDIES] [TRIALS]

The bigger sister of tests/report/test_analysis_truth.py, run by name. 60 studies take some minutes.
"""

import sys
import tempfile
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "report"))

from simulated_truth import Recovered, recovered

FIRST_SEED = 1001


def main() -> None:
    studies, trials = (int(word) for word in (*sys.argv[1:], *("60", "5")[len(sys.argv) - 1 :]))
    found: dict[str, list[Recovered]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(FIRST_SEED, FIRST_SEED + studies):
            for one in recovered(seed, Path(folder), trials):
                found[one.name].append(one)
    print(f"{studies} studies, {trials} trials at each of two points, seeds from {FIRST_SEED}")
    print("95 % interval of                truth mm     n  holds it   too low  too high")
    for name, several in sorted(found.items()):
        high = sum(one.truth_mm > one.high_mm for one in several)
        low = sum(one.truth_mm < one.low_mm for one in several)
        share = 100.0 * sum(one.holds for one in several) / len(several)
        truth = several[0].truth_mm
        print(f"{name:30}  {truth:8.5f}  {len(several):4}  {share:6.1f} %  {high:8}  {low:8}")


if __name__ == "__main__":
    main()
