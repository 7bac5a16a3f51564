"""The redistribution step alone, with what enters on top and a water table below."""

import numpy as np
from numpy.typing import NDArray
from soils import even_layers

from advisor.balance import layout, lines
from advisor.balance.flow import redistribute
from advisor.balance.pots import Column, Pot, pack
from advisor.pot.curve import Curve

Floats = NDArray[np.float64]

LANE = np.uint64(1)
HELD_MM = 1e9


class Bench:
    """One straight column of one member, stepped by `flow.redistribute`."""

    def __init__(self, curve: Curve, tension_cm: Floats, thickness_mm: float = 10.0) -> None:
        count = tension_cm.size
        cut = even_layers(count, thickness_mm)
        self.curve, self.count = curve, count
        self.pot: Pot = pack([Column(curve, 1.0, curve.content(tension_cm))], cut, 1.0)
        self.work = np.zeros(layout.WORK_SIZE)
        for k in range(count):
            self.work[self._at(layout.THETA, k)] = curve.content(tension_cm[k])
            self.work[self._at(layout.STORED, k)] = thickness_mm
            self.work[self._at(layout.PER_STORED, k)] = 1.0 / thickness_mm

    def step(self, enters_mm: float, dt_h: float, base_cm: float = 0.0) -> None:
        """Let so much in on top during one step."""
        self.work[int(lines.lane_row(layout.FLUX))] = enters_mm
        redistribute(
            self.work,
            np.uint64(self.count),
            LANE,
            self.pot.soil[0],
            self.pot.tables[0],
            self.pot.layers,
            dt_h,
            base_cm,
        )

    def hold_top(self) -> None:
        """Make the top layer a store so large that it stays as it is."""
        self.work[self._at(layout.STORED, 0)] = HELD_MM

    def drawn_cmh(self, dt_h: float) -> float:
        """Take one more step and give what rises into a held top [cm/h]."""
        before = self.work[self._at(layout.THETA, 0)]
        self.step(0.0, dt_h)
        return float(self.work[self._at(layout.THETA, 0)] - before) * HELD_MM / 10.0 / dt_h

    @property
    def theta(self) -> Floats:
        """Water content, top first [m³/m³]."""
        return np.array([self.work[self._at(layout.THETA, k)] for k in range(self.count)])

    @property
    def tension_cm(self) -> Floats:
        """Tension, top first [cm]."""
        return np.asarray(self.curve.tension_cm(self.theta), dtype=np.float64)

    @staticmethod
    def _at(what: np.uint64, k: int) -> int:
        return int(lines.row(what, np.uint64(k)))
