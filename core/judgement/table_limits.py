"""What the target table and its limits say of units: how far outside each lies."""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import SPREAD_SHARE
from bobweight.core.judgement.compare import Bands, bands
from bobweight.core.judgement.fit_curves import BOTH_WAYS, Simulator, Values
from bobweight.core.mechanics.branches import Curves

_OVER_DEG = 0.004  # distributor degrees outside at which a sound unit has become improbable
EDGE_DEG = 0.1
"""The same in distributor degrees, where samples begin: they are carried to the sharp edge."""
FAULT_FELT = 0.8
"""How much less probable a fault is that leaves the unit inside its table."""
_LEAST_HALF_DEG = 0.5  # half-width of a row of a table (common practice)


@frozen(eq=False)
class TableLimits:
    """The limits of a table, and how units keep them.

    Attributes
    ----------
    simulator : Simulator
        What makes the units' movements.
    asked, pumped : Bands
        Limits of the curve, and of the plate where it was read.
    ways : tuple of str
        The branches that the curve's limits are meant for.
    ceiling : float
        The most that the cam may advance, distributor degrees; infinite if nobody says.
    """

    simulator: Simulator
    asked: Bands
    pumped: Bands
    ways: tuple[str, ...]
    ceiling: float

    def outside(self, values: Values, table: Curves) -> Floats:
        """How far units of these values and curves lie outside, squared, in what makes a sound one
        improbable; shape (batch,)."""
        return np.asarray(np.sum((self.over_deg(values, table) / _OVER_DEG) ** 2, axis=1))

    def keeping(self, values: Values, table: Curves) -> Floats:
        """How probable each is beside one that lies inside, 1 to 0, shape (batch,)."""
        return np.exp(-0.5 * self.outside(values, table))

    def over_deg(self, values: Values, table: Curves) -> Floats:
        """How far they lie outside at every limit, distributor degrees, shape (batch, limits)."""
        found = [np.zeros((len(table.advance_deg), 1))]
        asked = self.asked
        if len(asked.where):
            for way in self.ways:
                found.append(_over(table.at(asked.where, way), asked))
        if np.isfinite(self.ceiling):
            found.append(np.maximum(self.simulator.most_deg(values) - self.ceiling, 0.0)[:, None])
        asked = self.pumped
        if len(asked.where):
            for sense in BOTH_WAYS:
                same = np.full(len(asked.where), sense)
                moved = self.simulator.vacuum_deg(values, asked.where, same)
                found.append(np.broadcast_to(_over(moved, asked), (len(found[0]), len(same))))
        return np.concatenate(found, axis=1)

    def log_capsule(self, values: Values) -> Floats:
        """Logarithm of what the table's vacuum points say of a sound capsule, shape (batch,): about
        the middle, as :mod:`core.judgement.sound` has it of the curve."""
        asked = self.pumped
        both = np.isfinite(asked.low_deg) & np.isfinite(asked.high_deg)
        low, high = asked.low_deg[both], asked.high_deg[both]
        moved = np.mean([
            self.simulator.vacuum_deg(values, asked.where[both], np.full(int(both.sum()), way))
            for way in BOTH_WAYS
        ], axis=0)  # fmt: skip
        spread = SPREAD_SHARE * 0.5 * np.maximum(high - low, 0.1)
        found: Floats = -0.5 * np.sum(((moved - 0.5 * (low + high)) / spread) ** 2, axis=1)
        return found


def table_limits(docket: Docket, simulator: Simulator) -> TableLimits:
    """The limits of a docket's table for the units of a simulator."""
    asked = bands(docket, 0.0)
    kind = np.array(asked.kind, dtype=object)
    ceiling = asked.high_deg[kind == "ceiling"]
    of_curve = np.isin(kind, ("check", "start"))
    of_plate = kind == ("vacuum" if simulator.capsules_read else "none")
    # A sound unit keeps no table closer than is usual, however narrow its rows are typed.
    room = np.maximum(_LEAST_HALF_DEG - 0.5 * (asked.high_deg - asked.low_deg), 0.0)
    curve, plate = (
        Bands((), (), asked.where[k], (asked.low_deg - room)[k], (asked.high_deg + room)[k])
        for k in (of_curve, of_plate)
    )
    most = float(ceiling[0]) if len(ceiling) else np.inf
    return TableLimits(simulator, curve, plate, docket.target.ways, most)


def _over(advance: Floats, asked: Bands) -> Floats:
    """How far advance lies outside its bands."""
    over: Floats = np.maximum(np.maximum(asked.low_deg - advance, advance - asked.high_deg), 0.0)
    return over
