"""Air pressure by height, and what is left of a depression there.

Source: US Standard Atmosphere, 1976, lowest layer (equations 18 and 33a): temperature falls
6.5 K for each km of geopotential height. Heights here are geometric, as on a map.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import Values, plain, positive, within
from bobweight.core.problems import BobweightError

SEA_LEVEL_KPA = 101.325
HIGHEST_M = 11_000.0
_EARTH_RADIUS_M = 6_356_766.0
_SEA_LEVEL_K = 288.15
_LAPSE_K_PER_M = 0.0065
_EXPONENT = 9.80665 * 28.9644 / (8314.32 * _LAPSE_K_PER_M)


def pressure_kpa(height_m: ArrayLike) -> Values:
    """Air pressure in kPa at geometric heights of 0 to 11 000 m."""
    height = within("height_m", height_m, 0, HIGHEST_M, "m")
    geopotential = _EARTH_RADIUS_M * height / (_EARTH_RADIUS_M + height)
    return plain(SEA_LEVEL_KPA * (1 - _LAPSE_K_PER_M * geopotential / _SEA_LEVEL_K) ** _EXPONENT)


def depression_at_height_kpa(sea_level_kpa: ArrayLike, height_m: ArrayLike) -> Values:
    """Depression in kPa that an engine has at a height, from its depression at sea level.

    A throttled engine holds its manifold at the same share of the air's own pressure, so the
    depression below the air falls in the same proportion. The capsule feels the depression alone.

    Parameters
    ----------
    sea_level_kpa : array_like
        Depression at sea level, 0 to 101.325 kPa.
    height_m : array_like
        Geometric height, 0 to 11 000 m; broadcast with the depression.
    """
    depression = within("sea_level_kpa", sea_level_kpa, 0, SEA_LEVEL_KPA, "kPa")
    return plain(depression * (np.asarray(pressure_kpa(height_m)) / SEA_LEVEL_KPA))


def height_for_depression_m(sea_level_kpa: float, wanted_kpa: float) -> float:
    """Geometric height in m above which a wanted depression is no longer available.

    Raises
    ------
    BobweightError
        ``depression-never-available`` where sea level has less than wanted;
        ``above-limit`` where it is still available at 11 000 m.
    """
    available = float(within("sea_level_kpa", sea_level_kpa, 0, SEA_LEVEL_KPA, "kPa"))
    wanted = float(positive("wanted_kpa", wanted_kpa, "kPa"))
    if wanted > available:
        raise BobweightError(
            "depression-never-available", ("wanted_kpa",), wanted_kpa=wanted,
            sea_level_kpa=available,
        )  # fmt: skip
    share = (wanted / available) ** (1 / _EXPONENT)
    geopotential = (1 - share) * _SEA_LEVEL_K / _LAPSE_K_PER_M
    height = _EARTH_RADIUS_M * geopotential / (_EARTH_RADIUS_M - geopotential)
    return float(within("height_m", height, 0, HIGHEST_M, "m"))
