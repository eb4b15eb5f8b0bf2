"""How well levelling holds on simulated beds with known truth: `python tests/metrology/…`.

Writes tests/data/levelling.md. A figure fails that misses its limit by more than 3.5 simulation
errors.
"""

import math
import statistics
import sys
from dataclasses import dataclass
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from simulated_beds import Levelled, drawn_bed, level

from hostctl.metrology.levelling.outcome import Noticed, outcome
from hostctl.metrology.levelling.standing import Verdict

PAGE = Path(__file__).parent.parent / "data" / "levelling.md"
BEDS, FAULTY_BEDS = 2000, 1000
FAULTS = (
    "all the other way",
    "one the other way",
    "one not turned",
    "another screw instead",
    "indicator bumped between rounds",
    "indicator bumped within the round",
)
WELL_ABOVE = 10.0  # standard uncertainties of its raise, and 0.1 mm: a turn that has to be noticed
BUMP_WELL_ABOVE = 20.0  # scatters of one reading, and 0.1 mm: a knock within a round


@dataclass(frozen=True)
class Share:
    """So many of so many."""

    count: int
    of: int

    @property
    def value(self) -> float:
        return self.count / max(self.of, 1)

    def at_least(self, limit: float) -> bool:
        return self.value >= limit - 3.5 * math.sqrt(limit * (1 - limit) / max(self.of, 1))

    def at_most(self, limit: float) -> bool:
        return self.value <= limit + 3.5 * math.sqrt(limit * (1 - limit) / max(self.of, 1))


@dataclass(frozen=True)
class Judged:
    """What 2,000 beds came to."""

    beds: list[Levelled]

    @property
    def within_stated(self) -> Share:
        return Share(sum(bed.tilts[-1] <= bed.stated for bed in self.beds), len(self.beds))

    @property
    def worse(self) -> Share:
        steps = [pair for bed in self.beds for pair in zip(bed.tilts, bed.tilts[1:], strict=False)]
        return Share(sum(later > earlier for earlier, later in steps), len(steps))

    @property
    def held(self) -> Share:
        held = [one for bed in self.beds for one in bed.held]
        return Share(sum(held), len(held))

    @property
    def alarms(self) -> Share:
        alarms = [one for bed in self.beds for one in bed.alarms]
        return Share(sum(alarms), len(alarms))

    @property
    def beyond(self) -> int:
        return sum(bed.beyond for bed in self.beds)

    def left(self, verdict: Verdict) -> list[float]:
        return sorted(bed.tilts[-1] for bed in self.beds if bed.verdicts[-1] is verdict)


def judged(beds: int) -> Judged:
    with Pool(2) as pool:
        return Judged(pool.map(_levelled, range(beds), chunksize=20))


def _levelled(seed: int) -> Levelled:
    return level(drawn_bed(seed))


@dataclass(frozen=True)
class Fault:
    """Whether a fault was noticed at all, named as what it was, and whether surely."""

    noticed: bool
    named: bool
    sure: bool


def faulty(kind: str, seed: int) -> Fault | None:
    """One round with this fault; None where the turn was not well above the noise."""
    bed = drawn_bed(seed)
    before = bed.measure()
    advice = bed.advice(before)
    raises = advice.raises_mm
    place = int(np.argmax(np.abs(raises)))
    if abs(raises[place]) < max(0.1, WELL_ABOVE * advice.turns[place].u_mm):
        return None
    made, expected = mistaken(kind, raises, place)
    bed.turn(made)
    after = bed.measure(before, bumped(kind, bed.rng, len(bed.points), bed.scatter))
    told = outcome(before, advice, after)
    jumped = told.jumped or after.jump is not None
    named = jumped if expected is None else [one.noticed for one in told.moved] == expected
    return Fault(not told.as_advised or after.jump is not None, named, told.sure)


def mistaken(kind: str, raises: np.ndarray, place: int) -> tuple[np.ndarray, list[Noticed] | None]:
    """What is turned, and what should be said of each screw; None where not of screws."""
    made, said = raises.copy(), [Noticed.NOTHING] * len(raises)
    if kind == "all the other way":
        return -raises, [Noticed.OTHER_WAY if far else Noticed.NOTHING for far in raises]
    if kind == "one the other way":
        made[place], said[place] = -raises[place], Noticed.OTHER_WAY
    elif kind == "one not turned":
        made[place], said[place] = 0.0, Noticed.NOT_TURNED
    elif kind == "another screw instead":
        other = (place + 1) % len(raises)
        made[place], said[place] = 0.0, Noticed.NOT_TURNED
        made[other] += raises[place]
        said[other] = Noticed.INSTEAD
    else:
        return made, None
    return made, said


def bumped(
    kind: str, rng: np.random.Generator, points: int, scatter: float
) -> tuple[int, float] | None:
    """After how many readings, and by how much."""
    side = float(rng.choice([-1.0, 1.0]))
    if kind == "indicator bumped between rounds":
        return 0, side * float(rng.uniform(0.3, 1.0))
    if kind == "indicator bumped within the round":
        return int(rng.integers(1, 2 * points + 1)), side * max(0.1, BUMP_WELL_ABOVE * scatter)
    return None


def faults(kind: str, beds: int) -> list[Fault]:
    with Pool(2) as pool:
        found = pool.starmap(faulty, [(kind, seed) for seed in range(beds)], chunksize=20)
    return [one for one in found if one is not None]


def page(beds: Judged, by_fault: dict[str, list[Fault]]) -> tuple[str, bool]:
    """The page, and whether anything fails."""
    rows = [
        ("true tilt in the end within what was stated", beds.within_stated, "at least 95"),
        ("rounds that left the bed worse", beds.worse, "at most 5"),
        ("measured tilts whose limits hold the true one", beds.held, "at least 95"),
        ("sound rounds where something was noticed", beds.alarms, "at most 5"),
    ]
    fails = beds.beyond > 0
    lines = [HEAD.format(beds=len(beds.beds))]
    for what, share, limit in rows:
        wanted = float(limit.split()[-1]) / 100.0
        good = share.at_least(wanted) if "least" in limit else share.at_most(wanted)
        fails |= not good
        lines.append(f"| {what} | {100 * share.value:.2f} of {share.of:,} | {limit} |")
    lines += [f"| beds with a turn beyond travel or the largest | {beds.beyond} | 0 |", LEFT]
    lines += [_left(verdict, beds.left(verdict)) for verdict in Verdict if beds.left(verdict)]
    lines.append(FAULTS_HEAD)
    for kind, found in by_fault.items():
        noticed = Share(sum(one.noticed for one in found), len(found))
        fails |= not noticed.at_least(0.95)
        named = Share(sum(one.named for one in found), len(found))
        sure = [one.named for one in found if one.sure]
        surely = f"{100 * Share(sum(sure), len(sure)).value:.1f} of {len(sure)}"
        lines.append(
            f"| {kind} | {len(found)} | {100 * noticed.value:.1f} | {100 * named.value:.1f} "
            f"| {surely} |"
        )
    return "\n".join(lines) + "\n", fails


def _left(verdict: Verdict, left: list[float]) -> str:
    high = left[min(int(0.95 * len(left)), len(left) - 1)]
    return f"| {verdict} | {len(left)} | {statistics.median(left):.3f} | {high:.3f} |"


HEAD = """# How well levelling holds

Written by `python tests/metrology/levelling_promises.py`; not by hand. {beds:,} simulated beds on
three to six screws, on stiff plates and soft, tilted by 0.02 to 2 mm and warped, measured at 3 to
10 points by rigs that scatter by 0.002 to 0.03 mm and round to 0.01 mm, 0.001 mm or not, homing
within 0.01 mm. People turn up to 10 % too far, read angles to 2 degrees, threads have play up to
0.02 mm; a third of the beds takes turns of at most 0.5 mm, another third 0.8 mm. At most three
rounds, to within 0.05 mm. Play, angles and turning too far: common practice, no source.

| promise | percent | limit |
| --- | --- | --- |"""
LEFT = """
What was left, in mm, by the last verdict ("turn": after the third round's turning).

| last verdict | beds | median true tilt | 95 % below |
| --- | --- | --- | --- |"""
FAULTS_HEAD = f"""
Faults, in a round whose largest raise was at least {WELL_ABOVE:.0f} times its standard uncertainty
and 0.1 mm; knocks between rounds of 0.3 to 1 mm, within a round of {BUMP_WELL_ABOVE:.0f} scatters
of a reading and at least 0.1 mm. Noticed: at least 95 percent. Named: as what it was, and at which
screws; nothing is promised of names, since mistakes at opposite screws tilt a bed alike and a soft
plate bends. Surely: where no other mistake that was looked for explains nearly as much.

| fault | rounds | noticed, percent | named, percent | of those said surely |
| --- | --- | --- | --- | --- |"""


if __name__ == "__main__":
    told, failed = page(judged(BEDS), {kind: faults(kind, FAULTY_BEDS) for kind in FAULTS})
    PAGE.write_text(told, encoding="utf-8")
    sys.exit(int(failed))
