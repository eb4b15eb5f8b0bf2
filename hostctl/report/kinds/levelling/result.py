"""What a levelling comes to, typed: nothing is worked out later. Lengths in mm, up positive."""

from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from hostctl.deeds import Direction, SeenFrom
from hostctl.metrology.basis.estimate import Estimate, NotYet

Verdict = Literal["turn", "within-tolerance", "within-rig", "no-better", "out-of-travel", "jumped"]
"""What a round found: not level yet; level within the tolerance; what is left is too little for
this rig; turning did not help; a screw would run out; readings don't fit together."""


Stays = Literal["", "hardly any", "can't be told from none"]
"""Why a screw is not to be turned: hands turn no finer; its 95 % interval includes none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightFound:
    """One point. height_mm: about the mean of all.  u_mm: its standard uncertainty, None where
    nothing tells how heights scatter.  off_plane_mm: above the fitted plane."""

    point: str
    x_mm: float
    y_mm: float
    height_mm: float
    u_mm: float | None
    off_plane_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaneFound:
    """The least-squares plane, about the middle of the points: height = middle_height
    + slope_x (x - middle_x) + slope_y (y - middle_y).

    slopes in mm per m, with standard uncertainties.  covariance: of middle_height in mm and both
    slopes in mm per mm; all of these uncertainties are None where nothing tells how heights
    scatter.  sd_mm, df: of one height, and how well that is known.
    """

    middle_x_mm: float
    middle_y_mm: float
    middle_height_mm: float
    slope_x_mm_per_m: float
    slope_y_mm_per_m: float
    u_slope_x_mm_per_m: float | None
    u_slope_y_mm_per_m: float | None
    covariance: tuple[tuple[float, ...], ...] | None
    sd_mm: float | None
    df: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TiltFound:
    """The plane's highest less its lowest over the points and the screws. low_mm, high_mm: 95 %;
    None where nothing tells how heights scatter."""

    value_mm: float
    low_mm: float | None
    high_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnFound:
    """What one screw was to be turned by. raise_mm: so much up, down if negative.

    u_mm, df: its standard uncertainty and degrees of freedom.  low_mm, high_mm: its 95 % interval,
    by Student's t.  turn_deg: 0 where so little is not turned.  u_deg, half_deg: u_mm and half the
    interval as degrees; all of these are None where nothing tells how heights scatter.
    stays: why it is not to be turned, empty where it is.
    direction: as seen from where one stands, which `seen_from` says.  part: of a turn, in words,
    empty where it is hardly any.  cut: whether less was advised than levels the bed at once.
    """

    screw: str
    raise_mm: float
    u_mm: float | None
    df: float | None
    low_mm: float | None
    high_mm: float | None
    turn_deg: float
    u_deg: float | None
    half_deg: float | None
    stays: Stays
    part: str
    direction: Direction
    seen_from: SeenFrom
    cut: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedFound:
    """What turning a screw did, by the heights of the next round. noticed: what is odd about it,
    a sentence; empty where nothing is."""

    screw: str
    expected_mm: float
    moved_mm: float
    u_mm: float | None
    noticed: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundFound:
    """One round: measured, judged, advised. moved: what the turns of the round before did.

    at: when it was judged; None of a table.
    """

    number: int
    at: datetime | None
    heights: tuple[HeightFound, ...]
    plane: PlaneFound
    tilt: TiltFound
    verdict: Verdict
    turns: tuple[TurnFound, ...]
    moved: tuple[MovedFound, ...]
    noticed: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WarpFound:
    """What is left off the last plane. twist: two opposite corners above it, the others as far
    below; bow_x, bow_y: edges above the middle, left and right, front and back.

    minimum_zone_mm: apart, the closest two planes that hold all points between them; between: the
    points that pin them.  least_squares_mm: highest less lowest off the fitted plane, across it.
    """

    twist: Estimate | NotYet
    bow_x: Estimate | NotYet
    bow_y: Estimate | NotYet
    bow: Estimate | NotYet
    minimum_zone_mm: float
    between: tuple[str, ...]
    least_squares_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewFound:
    """A screw of the machine file. can_raise_mm, can_lower_mm: travel left by that file less what
    was turned since; None where it does not say."""

    name: str
    x_mm: float
    y_mm: float
    pitch_mm: float
    seen_from: SeenFrom
    can_raise_mm: float | None
    can_lower_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TravelFound:
    """Where the nozzle may go."""

    left_mm: float
    right_mm: float
    front_mm: float
    back_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitFound:
    """How long the warm bed was waited for. still: whether it came to rest meanwhile."""

    waited_s: float
    bed_c: float
    still: bool
    drift_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelResult:
    """A bed that was levelled, or only measured.

    name: of the run, or the file's.  title: the same with what it was of.  machine: its name; None
    where none is known.  within_mm: what is good enough; None: not said.  resolution_mm: what
    heights were read to; None: not known.  repeats: so many readings a point in each round; 1:
    nothing tells how they repeat.
    rounds: at least one; the last is how it stands.  warp: what is left off the last plane.
    rig_mm: a tilt up to this is too little for this rig to tell from level; None: not known.
    screws: of the machine file.  travel: where the nozzle may go.  kept: what stayed as high as it
    was, `mean` or a name.  wait: how long a warm bed was waited for; None: it was cold.
    complete: whether the run came to its end.  notes: what a reader must know of the source.
    """

    name: str
    title: str
    machine: str | None
    within_mm: float | None
    resolution_mm: float | None
    repeats: int
    rounds: tuple[RoundFound, ...]
    warp: WarpFound
    rig_mm: float | None
    screws: tuple[ScrewFound, ...]
    travel: TravelFound | None
    kept: str
    wait: WaitFound | None
    complete: bool
    notes: tuple[str, ...]

    @property
    def last(self) -> RoundFound:
        """How the bed stands."""
        return self.rounds[-1]
