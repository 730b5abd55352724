"""The curve that figures, trade and table let expect, with its uncertainty: from an empty docket
on, and narrower with each figure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import assume
from bobweight.core.judgement.fit_values import ValueTable, mechanism_values
from bobweight.core.judgement.sound import curves_of, sound_unit

_SAMPLES = 200
_SEED = 9


@frozen(eq=False)
class Expected:
    """Advance at speeds in distributor rev/min, in distributor degrees, with its standard
    uncertainty; every array of shape (speeds,)."""

    speed_rpm: Floats
    rising_deg: Floats
    u_rising_deg: Floats
    falling_deg: Floats
    u_falling_deg: Floats


def expected_curve(docket: Docket, speed_rpm: Sequence[float]) -> Expected:
    """What the curve is expected to be before any reading.

    Where the mechanism is known throughout, by its figures alone, the table aside; where something
    is blank, by figures, trade and table.

    Parameters
    ----------
    speed_rpm : sequence of float
        Distributor speeds.
    """
    assumed = assume(docket)
    speed = np.asarray(speed_rpm, dtype=float)
    if assumed.known:
        unit = sound_unit(docket)
        free, centre, root = unit.free, unit.z, unit.root
    else:
        free = mechanism_values(assumed)
        centre, root = np.zeros(len(free)), np.eye(len(free))
    q = np.random.default_rng(_SEED).normal(size=(_SAMPLES, len(free)))
    values = ValueTable(free).at(np.vstack([centre, centre + q @ root.T]))
    table = curves_of(assumed.mechanism, values)
    up, down = table.at(speed, "rising"), table.at(speed, "falling")
    return Expected(speed, up[0], _scatter(up), down[0], _scatter(down))


def _scatter(advance: Floats) -> Floats:
    """Standard deviation of all but the first, the likeliest, in which a few wild draws do not
    count for all."""
    drawn = advance[1:]
    low, high = np.quantile(drawn, (0.159, 0.841), axis=0)
    found: Floats = np.maximum(0.5 * (high - low), 0.25 * drawn.std(axis=0))
    return found
