"""The setting's own spread, the rig taken out: its interval and the verdict on a claim not so."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import product as every

import numpy as np

from hostctl.metrology.basis.estimate import NotYet
from hostctl.metrology.spread.setting import (
    HARDLY,
    Setting,
    setting_lower,
    setting_of,
    setting_upper,
)
from promised import boxes
from promised.cells import Chances, Floats, Found, Places
from promised.spreads import CONFIDENCE, RISK, end_risks
from promised.studies import Graduations, Place, Shape, spans

_PLACES: tuple[Place, ...] = ((0.0,), (0.25,), (0.4999,))


@dataclass(frozen=True, slots=True)
class SettingCell:
    """rig_size: readings of the rig check.  sigma: of the setting, 0 where it adds nothing."""

    shape: Shape
    sigma: float
    rig_size: int
    rig_sigma: float

    @property
    def label(self) -> tuple[str, ...]:
        """Study, its sigma, rig check, its sigma."""
        return (str(self.shape), f"{self.sigma:g}", str(self.rig_size), f"{self.rig_sigma:g}")

    @property
    def places(self) -> Sequence[Places]:
        """Of the study and of the rig check."""
        return list(every(_PLACES, _PLACES))

    def simulate(self, rng: np.random.Generator, places: Sequence[Places]) -> Found:
        """Chances as `spread.setting` has them, at the setting's true sigma."""
        of_study, of_rig = zip(*places, strict=True)
        both = math.hypot(self.sigma, self.rig_sigma)
        read = self.shape.read(rng, both, of_study)
        check = Shape(self.rig_size).read(rng, self.rig_sigma, of_rig)
        return Found(self._chances(read, check), partial(self._by_product, read, check))

    def _chances(self, read: Graduations, check: Graduations) -> Chances:
        total = boxes.boxes_of(self.shape, read)
        rig = boxes.boxes_of(Shape(self.rig_size), check)
        above = boxes.setting_is_above(total, rig, self.sigma)
        below = boxes.setting_is_below(total, rig, self.sigma)
        upper, lower = end_risks(self.shape, spans(read))
        more_than_rig = boxes.setting_is_above(total, rig, 0.0)
        refused = more_than_rig <= upper
        out = (more_than_rig > HARDLY) & (spans(read) > 0)
        of_both = (
            self.shape.many(read).tails(max(self.sigma, 0.1))[0]
            if self.sigma > 0.0
            else np.ones(len(read))
        )
        above, below = np.where(out, above, of_both), np.where(out, below, 1.0)
        chances: dict[str, list[tuple[Floats, float | Floats]]] = {
            "interval": [(np.where(refused, 0.0, above), upper), (below, lower)],
            "does not meet": [(below, RISK)],
        }
        if self.sigma > 0.0:
            chances["meets"] = [(above, RISK)]
        return chances

    def _by_product(self, read: Graduations, check: Graduations, i: int) -> Mapping[str, bool]:
        total, rig = self.shape.evidence(read[i]), Shape(self.rig_size).evidence(check[i])
        setting = setting_of(total, rig, CONFIDENCE)
        out = None if isinstance(setting, NotYet) or not setting.rig_out else rig
        low = setting_lower(total, rig, RISK)
        said = {
            "interval": not (isinstance(setting, Setting) and self.sigma in setting.interval),
            "does not meet": out is not None and (low >= self.sigma and low > 0.0),
        }
        if self.sigma > 0.0:
            said["meets"] = setting_upper(total, out, RISK) <= self.sigma
        return said


CELLS = [
    SettingCell(shape, sigma, rig_size, share * sigma)
    for shape, rig_size in ((Shape(6), 12), (Shape(12), 12), (Shape(30), 20), (Shape(4, 3), 12))
    for sigma in (0.3, 0.7, 2.0)
    for share in (0.3, 1.0)
] + [
    SettingCell(shape, 0.0, rig_size, rig_sigma)
    for shape, rig_size in ((Shape(6), 12), (Shape(12), 12), (Shape(30), 20), (Shape(4, 3), 12))
    for rig_sigma in (0.3, 1.0, 3.0)
]
