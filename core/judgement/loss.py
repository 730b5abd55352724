"""What a wrong act costs, and what another measurement saves: the decision by expected loss.

The unit of loss is a tenth of a comeback; what each costs is common practice.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.arrays import Floats

ALTERED_NEEDLESSLY, LEFT_OUTSIDE, ALTERING = 10.0, 10.0, 1.0
"""A good unit altered; a unit left as it is, or still, outside its band; altering at all."""
READING, MEASUREMENT = 0.25, 0.5
"""Another reading; another measurement of a part or an instrument."""


def loss_of_leaving(inside: Floats | float) -> Floats | float:
    """Expected loss of leaving a unit alone that is inside with this probability."""
    return LEFT_OUTSIDE * (1.0 - inside)


def loss_of_altering(inside: Floats | float, after: float) -> Floats | float:
    """Expected loss of altering it, inside with probability ``after`` then."""
    return ALTERING + ALTERED_NEEDLESSLY * inside + LEFT_OUTSIDE * (1.0 - after)


def least_loss(inside: Floats | float, after: float) -> Floats | float:
    """Expected loss of the better of leaving and altering."""
    return np.minimum(loss_of_leaving(inside), loss_of_altering(inside, after))


def expected_fall(outcome: Floats, sd: Floats, inside: Floats, after: float, seed: int) -> Floats:
    """By how much the expected loss falls once an outcome is known, its cost not taken off.

    Parameters
    ----------
    outcome : array, shape (units, candidates)
        What each measurement would show of each of equally probable units.
    sd : array, shape (candidates,)
        Standard deviation of the measurement.
    inside : array, shape (units,)
        Whether each unit lies inside, 0 or 1.
    after : float
        Chance of inside after the best alteration known.

    Returns
    -------
    array, shape (candidates,)

    Notes
    -----
    Expected value of sample information (Raiffa and Schlaifer, Applied Statistical Decision
    Theory, ch. 4), with the units themselves as the outcomes, each with its own noise.
    """
    rng = np.random.default_rng(seed)
    now = float(np.mean(inside))
    noise = rng.normal(size=(len(outcome), 1))
    seen = outcome + noise * sd
    places, there = ((v / sd).astype(np.float32) for v in (seen, outcome))  # enough for a chance
    density = np.exp(-0.5 * np.square(places[:, None, :] - there[None, :, :]))
    among = np.einsum("jic,i->jc", density, np.asarray(inside, np.float32))
    chance = among / np.maximum(density.sum(axis=1), np.float32(1e-30))
    later = np.mean(least_loss(chance, after), axis=0)
    found: Floats = np.maximum(float(least_loss(now, after)) - later, 0.0)
    return found
