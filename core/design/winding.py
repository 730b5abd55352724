"""What to order or wind: sizes of wire, coil and body that give a wanted spring."""

from __future__ import annotations

import math

import numpy as np

from bobweight.core.design.wire import (
    MATERIALS,
    ExtensionSpring,
    SetRisk,
    Stresses,
    TensionState,
    natural_length_mm,
    stresses_at_length,
)
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

# Preferred numbers of the series R20, ISO 3:1973 (rounded tenth-decade steps of 10^(1/20)).
_R20 = (1.00, 1.12, 1.25, 1.40, 1.60, 1.80, 2.00, 2.24, 2.50, 2.80,
        3.15, 3.55, 4.00, 4.50, 5.00, 5.60, 6.30, 7.10, 8.00, 9.00)  # fmt: skip

PREFERRED_WIRE_MM: tuple[float, ...] = tuple(
    round(step * decade, 4) for decade in (0.1, 1.0) for step in _R20 if 0.2 <= step * decade <= 2.5
)
"""Wire diameters in mm by ISO 3, series R20, from 0.2 to 2.5 mm."""

_HOOK_COILS = 1.0  # what both hooks add to the active coils
_COIL_STEP = 0.5  # half a coil turns one hook over against the other
_DIAMETER_STEP_MM = 0.05
_INDEX = (4.0, 12.0)  # can be coiled well (Shigley eq. 10-18)
_LONGEST_HOOKS = 0.5  # share of the free length that the hooks may make up by being drawn out
_LARGEST_RATE_ERROR = 0.03  # rounding a small diameter may move the rate by more: left out


@frozen
class Wanted:
    """The spring that is wanted.

    Parameters
    ----------
    rate_n_per_mm : float
        > 0.
    initial_tension_n : float
        ≥ 0; 0 asks for a body wound just open.
    free_length_mm : float
        Between the insides of the hooks, > 0.
    longest_mm : float
        Longest it is ever stretched to, > free length; the stresses are taken there.
    largest_outside_mm : float
        Room for the coil.
    """

    rate_n_per_mm: float
    initial_tension_n: float
    free_length_mm: float
    longest_mm: float
    largest_outside_mm: float = math.inf


@frozen
class Winding:
    """One way to wind it, with what it would be.

    ``stresses`` are those at the longest length.
    """

    coil: ExtensionSpring
    tension_state: TensionState
    stresses: Stresses


def windings(wanted: Wanted, material: str = "music") -> list[Winding]:
    """Ways to wind a wanted spring from wire of the preferred sizes so that it takes no set, the
    best first; empty if there is none.

    Parameters
    ----------
    material : str
        Key of :data:`core.design.wire.MATERIALS`.

    Raises
    ------
    BobweightError
        ``not-positive``, ``negative``, ``length-below-free``, ``unknown-material``.

    Notes
    -----
    Rate fixes the mean diameter for each wire and body, D³ = G d⁴/(8 k N). Order: initial tension
    that can be held before one that cannot, then by the smallest margin against permanent set,
    the largest first.
    """
    _check(wanted, material)
    wire = MATERIALS[material]
    d = np.array([w for w in PREFERRED_WIRE_MM if w >= wire.smallest_mm])
    most = wanted.free_length_mm / d.min(initial=wanted.free_length_mm) if d.size else 0.0
    body = np.arange(2.0, most + _COIL_STEP, _COIL_STEP)
    d, body = (a.ravel() for a in np.meshgrid(d, body, indexing="ij"))
    ideal = np.cbrt(wire.g_mpa(d) * d**4 / (8 * wanted.rate_n_per_mm * (body + _HOOK_COILS)))
    big = np.maximum(np.round(ideal / _DIAMETER_STEP_MM), 1) * _DIAMETER_STEP_MM
    error = (ideal / big) ** 3 - 1
    spare = wanted.free_length_mm - natural_length_mm(d, big, body)
    usable = (
        (big >= _INDEX[0] * d)
        & (big <= _INDEX[1] * d)
        & (big + d <= wanted.largest_outside_mm)
        & (np.abs(error) <= _LARGEST_RATE_ERROR)
        & (spare >= 0)
        & (spare <= _LONGEST_HOOKS * wanted.free_length_mm)
    )
    found = []
    for i in np.flatnonzero(usable):
        coil = ExtensionSpring(
            wire_mm=float(d[i]), mean_diameter_mm=round(float(big[i]), 6),
            body_coils=float(body[i]), material=material, hook_coils=_HOOK_COILS,
            initial_tension_n=wanted.initial_tension_n, hook_extension_mm=float(spare[i]),
        )  # fmt: skip
        at_longest = stresses_at_length(coil, wanted.longest_mm)
        if at_longest.risk is SetRisk.HOLDS:
            found.append(Winding(coil, coil.tension_state, at_longest))
    held = (TensionState.PREFERRED, TensionState.NONE)
    return sorted(found, key=lambda w: (w.tension_state not in held, -w.stresses.margin))


def _check(wanted: Wanted, material: str) -> None:
    for key in ("rate_n_per_mm", "free_length_mm", "longest_mm", "largest_outside_mm"):
        value = getattr(wanted, key)
        if not value > 0:
            raise BobweightError("not-positive", (key,), value=value)
    if not wanted.initial_tension_n >= 0:
        raise BobweightError("negative", ("initial_tension_n",), value=wanted.initial_tension_n)
    if not wanted.longest_mm > wanted.free_length_mm:
        raise BobweightError(
            "length-below-free", ("longest_mm",),
            longest_mm=wanted.longest_mm, free_length_mm=wanted.free_length_mm,
        )  # fmt: skip
    if material not in MATERIALS:
        raise BobweightError("unknown-material", ("material",), value=material)
