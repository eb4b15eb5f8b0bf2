"""Simulated beds on screws with known truth, the rigs that measure them and the hands that turn.

Written apart from the maths that it judges: the plate is solved for here, not taken from there.
"""

import math
from dataclasses import dataclass, field

import numpy as np

from hostctl.metrology.levelling.advice import Advice, Screw, advise
from hostctl.metrology.levelling.heights import Heights, heights_of
from hostctl.metrology.levelling.outcome import Outcome, outcome
from hostctl.metrology.levelling.standing import Standing, Verdict, stand

SCREWS_AT = {
    3: ((110, 10), (20, 200), (200, 200)),
    4: ((25, 25), (195, 25), (195, 195), (25, 195)),
    5: ((25, 25), (195, 25), (195, 195), (25, 195), (110, 110)),
    6: ((20, 20), (200, 20), (20, 110), (200, 110), (20, 200), (200, 200)),
}
GRID = tuple((float(x), float(y)) for y in (30, 110, 190) for x in (30, 110, 190))
MOST_TOO_FAR = 0.10


@dataclass
class Bed:
    """One bed: screws' offsets and the plate's own shape, a rig, and a person."""

    rng: np.random.Generator
    screws: list[Screw]
    offsets: np.ndarray
    points: np.ndarray
    own_shape: np.ndarray
    soft: bool
    scatter: float
    resolution: float
    play: float
    too_far: float
    homing_sd: float
    largest_mm: float
    slack: np.ndarray = field(init=False)

    def __post_init__(self) -> None:
        self.slack = self.rng.uniform(0.0, self.play, len(self.screws))

    @property
    def at_screws(self) -> np.ndarray:
        return np.array([(one.x_mm, one.y_mm) for one in self.screws])

    def surface(self, places: np.ndarray) -> np.ndarray:
        """Where screws of these offsets carry a plate that is flat by itself."""
        ones = np.column_stack([np.ones(len(self.screws)), self.at_screws])
        flat = np.linalg.lstsq(ones, self.offsets, rcond=None)[0]
        plane = np.column_stack([np.ones(len(places)), places]) @ flat
        if not self.soft or len(self.screws) == 3:
            return plane
        return plane + thin_plate(self.at_screws, self.offsets - ones @ flat, places)

    def heights(self) -> np.ndarray:
        return self.surface(self.points) + self.own_shape

    def tilt(self) -> float:
        """Highest less lowest of the plane through the points' true heights, over all places."""
        ones = np.column_stack([np.ones(len(self.points)), self.points])
        plane = np.linalg.lstsq(ones, self.heights(), rcond=None)[0]
        places = np.vstack([self.points, self.at_screws])
        return float(np.ptp(places @ plane[1:]))

    def measure(
        self, before: Heights | None = None, bump: tuple[int, float] | None = None
    ) -> Heights:
        """One round: two passes and the first point again. bump: (after so many readings, mm)."""
        true = self.heights() + self.rng.normal(0.0, self.homing_sd)
        n = len(true)
        order = [*range(n), *reversed(range(n)), 0]
        read = true[order] + self.rng.normal(0.0, self.scatter, len(order))
        if bump is not None:
            read[bump[0] :] += bump[1]
        if self.resolution:
            read = np.round(read / self.resolution) * self.resolution
        return heights_of(
            [f"p{k}" for k in range(n)],
            *self.points.T,
            [read[:n], read[n : 2 * n][::-1]],
            closing=read[-1],
            resolution_mm=self.resolution,
            known=before.scatter if before else None,
        )

    def advice(self, heights: Heights) -> Advice:
        return advise(heights, self.screws, largest_mm=self.largest_mm)

    def turn(self, raises: np.ndarray) -> None:
        """A person turns: too far, reading the angle so well, and the thread takes up its play."""
        n = len(raises)
        pitches = np.array([one.pitch_mm for one in self.screws])
        share = 1.0 + self.rng.uniform(0.0, self.too_far, n)
        angle = self.rng.normal(0.0, 2.0, n) / 360.0 * pitches * (raises != 0.0)
        asked = raises * share + angle if self.too_far else raises
        slack = self.slack + asked
        self.slack = np.clip(slack, 0.0, self.play)
        self.offsets = self.offsets + slack - self.slack

    def used(self, raises: np.ndarray) -> None:
        """Travel left once these turns were made."""
        self.screws = [
            Screw(
                name=one.name,
                x_mm=one.x_mm,
                y_mm=one.y_mm,
                pitch_mm=one.pitch_mm,
                can_raise_mm=max(one.can_raise_mm - raised, 0.0),
                can_lower_mm=max(one.can_lower_mm + raised, 0.0),
            )
            for one, raised in zip(self.screws, raises.tolist(), strict=True)
        ]


def thin_plate(at: np.ndarray, off: np.ndarray, places: np.ndarray) -> np.ndarray:
    """The least bent plate through these heights: thin-plate spline (Duchon 1977, from memory)."""
    scale = 100.0

    def kernel(one: np.ndarray, other: np.ndarray) -> np.ndarray:
        squared = ((one[:, None, :] - other[None, :, :]) ** 2).sum(axis=2) / scale**2
        return squared * np.log(np.maximum(squared, 1e-30))

    flat = np.column_stack([np.ones(len(at)), at / scale])
    system = np.block([[kernel(at, at), flat], [flat.T, np.zeros((3, 3))]])
    weights = np.linalg.lstsq(system, np.append(off, np.zeros(3)), rcond=None)[0]
    there = np.column_stack([np.ones(len(places)), places / scale])
    return kernel(places, at) @ weights[: len(at)] + there @ weights[len(at) :]


def drawn_bed(seed: int) -> Bed:
    """Bed number `seed`: its screws can level it."""
    rng = np.random.default_rng([20261129, seed])
    at = np.array(SCREWS_AT[int(rng.integers(3, 7))], dtype=float)
    n = len(at)
    points = np.array(GRID) if rng.random() < 0.5 else np.vstack([at, np.array(GRID)[:4] + 5.0])
    points = at if rng.random() < 0.25 else points
    angle, tilt = rng.uniform(0.0, 2.0 * math.pi), rng.uniform(0.02, 2.0)
    along = at @ np.array([math.cos(angle), math.sin(angle)])
    offsets = tilt * (along - along.mean()) / np.ptp(along) + rng.normal(0.0, 0.02, n)
    u, v = (points - 110.0).T / 90.0
    bow_x, bow_y, twist = rng.normal(0.0, [0.05, 0.05, 0.05])
    room = rng.choice([math.inf, 0.3])
    pitch = float(rng.choice([0.5, 0.7, 0.8]))
    most = float(np.abs(offsets - offsets.mean()).max())
    return Bed(
        rng=rng,
        screws=[
            Screw(
                name=f"s{k}",
                x_mm=x,
                y_mm=y,
                pitch_mm=pitch,
                can_raise_mm=2.0 * most + room,
                can_lower_mm=most + room,
            )
            for k, (x, y) in enumerate(at.tolist())
        ],
        offsets=offsets,
        points=points,
        own_shape=bow_x * u**2 + bow_y * v**2 + twist * u * v,
        soft=bool(rng.random() < 0.5),
        scatter=float(0.002 * 15.0 ** rng.random()),
        resolution=float(rng.choice([0.0, 0.001, 0.01])),
        play=float(rng.uniform(0.0, 0.02)),
        too_far=MOST_TOO_FAR,
        homing_sd=0.01,
        largest_mm=float(rng.choice([math.inf, 0.8, 0.5])),
    )


@dataclass
class Levelled:
    """What happened to one bed in at most three rounds."""

    verdicts: list[Verdict]
    tilts: list[float]  # true, before each round and at the end
    stated: float  # at most so much is left, as last said
    held: list[bool]  # the interval of each measured tilt holds the true one
    alarms: list[bool]
    beyond: bool


def level(bed: Bed, within_mm: float = 0.05, rounds: int = 3) -> Levelled:
    """Measure, advise, turn, at most so many times."""
    done = Levelled([], [bed.tilt()], math.inf, [], [], False)
    before: tuple[Heights, Advice, Standing] | None = None
    for _ in range(rounds):
        heights = bed.measure(before[0] if before else None)
        advice = bed.advice(heights)
        turned: Outcome | None = None
        if before is not None:
            turned = outcome(before[0], before[1], heights)
        last = before[2] if before else None
        standing = stand(heights, advice, within_mm=within_mm, before=last, outcome=turned)
        done.verdicts.append(standing.verdict)
        done.alarms.append(
            heights.jump is not None or (turned is not None and not turned.as_advised)
        )
        done.held.append(standing.tilt.low_mm <= done.tilts[-1] <= standing.tilt.high_mm)
        done.stated = standing.tilt.high_mm
        if standing.verdict is not Verdict.TURN:
            break
        raises = advice.raises_mm
        done.beyond |= any(
            _beyond(one, raised, bed) for one, raised in zip(bed.screws, raises, strict=True)
        )
        bed.turn(raises)
        bed.used(raises)
        done.tilts.append(bed.tilt())
        done.stated = advice.left.high_mm
        before = (heights, advice, standing)
    return done


def _beyond(screw: Screw, raised: float, bed: Bed) -> bool:
    tiny = 1e-12
    most = min(screw.can_raise_mm, bed.largest_mm) + tiny
    return not -min(screw.can_lower_mm, bed.largest_mm) - tiny <= raised <= most
