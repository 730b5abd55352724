"""A coil extension spring from its dimensions: rate, initial tension, stresses, and what it bears.

Formulas and tables: Shigley's Mechanical Engineering Design, 9th ed., sections 10-1 to 10-6 and
10-11 (below "Shigley"), unless said otherwise. Round wire, stress in MPa = N/mm².
"""

from __future__ import annotations

import math
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

_MPA_PER_PSI = 6.894757e-3


@frozen
class Material:
    """A spring wire.

    Attributes
    ----------
    strength : tuple of (largest wire in mm, A in MPa·mm^m, m)
        Minimum tensile strength A/d^m, by rising wire diameter (Shigley Table 10-4).
    moduli : tuple of (largest wire in mm, E in MPa, G in MPa)
        By rising wire diameter (Shigley Table 10-5).
    smallest_mm : float
        Thinnest wire that the strength formula covers.
    body, hook_torsion, hook_bending : float
        Largest stress that leaves no set, as a share of the tensile strength, Wahl or
        Bergsträsser factor included (Shigley Table 10-7).
    relative_u_g : float
        Relative standard uncertainty of G.
    """

    strength: tuple[tuple[float, float, float], ...]
    moduli: tuple[tuple[float, float, float], ...]
    smallest_mm: float
    body: float = 0.45
    hook_torsion: float = 0.40
    hook_bending: float = 0.75
    # Handbooks give music wire 79.3 to 84 GPa; taken as even chances over that span:
    # (84 − 79.3) / 2 / √3 = 1.36 GPa of 81.7.
    relative_u_g: float = 0.0166

    def strength_mpa(self, wire_mm: ArrayLike) -> NDArray[np.float64]:
        """Minimum tensile strength in MPa of wire of this diameter in mm."""
        d = np.asarray(wire_mm, float)
        a, m = _by_size(self.strength, d)
        return a / d**m

    def e_mpa(self, wire_mm: ArrayLike) -> NDArray[np.float64]:
        """Young's modulus in MPa."""
        return _by_size(self.moduli, np.asarray(wire_mm, float))[0]

    def g_mpa(self, wire_mm: ArrayLike) -> NDArray[np.float64]:
        """Shear modulus in MPa."""
        return _by_size(self.moduli, np.asarray(wire_mm, float))[1]


def _by_size(rows: tuple[tuple[float, float, float], ...], d: Floats) -> tuple[Floats, Floats]:
    table = np.array(rows)
    k = np.minimum(np.searchsorted(table[:, 0], d), len(rows) - 1)
    return table[k, 1], table[k, 2]


_OTHER = {"body": 0.35, "hook_torsion": 0.30, "hook_bending": 0.55}

# Rows seen in the cited tables, except: stainless-302 and phosphor-bronze from memory of them.
# The inch limits of Table 10-5 are 0.032, 0.063 and 0.125 in.
MATERIALS: dict[str, Material] = {
    "music": Material(
        ((6.5, 2211, 0.145),),
        ((0.813, 203400, 82700), (1.60, 200000, 81700), (3.18, 196500, 81000),
         (math.inf, 193000, 80000)), 0.10,
    ),
    "hard-drawn": Material(
        ((12.7, 1783, 0.190),),
        ((0.813, 198600, 80700), (1.60, 197900, 80000), (3.18, 197200, 79300),
         (math.inf, 196500, 78600)), 0.70,
    ),
    "oil-tempered": Material(((12.7, 1855, 0.187),), ((math.inf, 196500, 77200),), 0.50),
    "chrome-vanadium": Material(((11.1, 2005, 0.168),), ((math.inf, 203400, 77200),), 0.80),
    "chrome-silicon": Material(((9.5, 1974, 0.108),), ((math.inf, 203400, 77200),), 1.60),
    "stainless-302": Material(
        ((2.5, 1867, 0.146), (5.0, 2065, 0.263), (10.0, 2911, 0.478)),
        ((math.inf, 193000, 69000),), 0.30, **_OTHER,
    ),
    "phosphor-bronze": Material(
        ((0.6, 1000, 0.0), (2.0, 913, 0.028), (7.5, 932, 0.064)),
        ((math.inf, 103400, 41400),), 0.10, **_OTHER,
    ),
}  # fmt: skip


class HookRule(Enum):
    """How much the two hooks add to the active coils."""

    STATED = "stated"
    """Active = body + ``hook_coils``; about one coil for the pair (common practice)."""
    MODULI = "moduli"
    """Active = body + G/E (Shigley eq. 10-40)."""


class TensionState(Enum):
    """Where an initial-tension stress lies in the range that winders hold (Shigley eq. 10-41)."""

    NONE = "none"
    BELOW = "below"
    PREFERRED = "preferred"
    ABOVE = "above"


class SetRisk(Enum):
    """Whether the spring keeps its length after being stretched so far."""

    HOLDS = "holds"
    """Every stress is within the share of the strength that leaves no set."""
    MAY_SET = "may set"
    """Beyond that, but below the highest elastic limit that tables give."""
    SETS = "sets"
    """Beyond that too."""


# Torsion: elastic limits of Table 10-5 reach 0.60 of the strength against the 0.45 allowed.
_SURE_OF_SET = 0.75


@frozen
class ExtensionSpring:
    """An extension spring of round wire with a loop at each end.

    Parameters
    ----------
    wire_mm, mean_diameter_mm : float
        Wire and mean coil diameter; their ratio must exceed 1.5 for the formulas to hold.
    body_coils : float
        Coils of the body, hooks not counted, > 0.
    material : str
        Key of :data:`MATERIALS`.
    hook_coils : float
        What the two hooks together add to the active coils under ``HookRule.STATED``.
    initial_tension_n : float
        ≥ 0.
    g_mpa : float or None
        Shear modulus if better known than the table's.
    hook_radius_mm, side_radius_mm : float or None
        Mean radius of the loop, and of the bend from body to loop; half and quarter of the mean
        diameter if not given (a full loop bent up from the body).
    hook_extension_mm : float
        By how much the two hooks together are longer than plain full loops, ≥ 0.

    Raises
    ------
    BobweightError
        ``not-positive``, ``negative``, ``unknown-material`` or ``index-too-small``, at the field.
    """

    wire_mm: float
    mean_diameter_mm: float
    body_coils: float
    material: str = "music"
    hook_rule: HookRule = HookRule.STATED
    hook_coils: float = 1.0
    initial_tension_n: float = 0.0
    g_mpa: float | None = None
    hook_radius_mm: float | None = None
    side_radius_mm: float | None = None
    hook_extension_mm: float = 0.0

    def __post_init__(self) -> None:
        for key in ("wire_mm", "mean_diameter_mm", "body_coils", "g_mpa", "hook_radius_mm",
                    "side_radius_mm"):  # fmt: skip
            value = getattr(self, key)
            if value is not None and not (math.isfinite(value) and value > 0):
                raise BobweightError("not-positive", (key,), value=value)
        for key in ("hook_coils", "initial_tension_n", "hook_extension_mm"):
            value = getattr(self, key)
            if not (math.isfinite(value) and value >= 0):
                raise BobweightError("negative", (key,), value=value)
        if self.material not in MATERIALS:
            raise BobweightError("unknown-material", ("material",), value=self.material)
        if self.index <= 1.5:
            raise BobweightError("index-too-small", ("mean_diameter_mm",), value=self.index)
        for key, radius in (("hook_radius_mm", self.loop_radius_mm),
                            ("side_radius_mm", self.bend_radius_mm)):  # fmt: skip
            if 2 * radius <= self.wire_mm:
                raise BobweightError("radius-too-small", (key,), value=radius)

    @property
    def wire(self) -> Material:
        """What it is wound of."""
        return MATERIALS[self.material]

    @property
    def shear_modulus_mpa(self) -> float:
        """G in MPa: as stated, else the table's."""
        return float(self.wire.g_mpa(self.wire_mm)) if self.g_mpa is None else self.g_mpa

    @property
    def strength_mpa(self) -> float:
        """Minimum tensile strength of the wire in MPa."""
        return float(self.wire.strength_mpa(self.wire_mm))

    @property
    def index(self) -> float:
        """Spring index C = mean diameter / wire."""
        return self.mean_diameter_mm / self.wire_mm

    @property
    def loop_radius_mm(self) -> float:
        """Mean radius of the hook, in mm: as stated, else that of the coils."""
        return self.mean_diameter_mm / 2 if self.hook_radius_mm is None else self.hook_radius_mm

    @property
    def bend_radius_mm(self) -> float:
        """Mean radius of the bend between coils and hook, in mm: as stated, else half that of the
        coils."""
        return self.mean_diameter_mm / 4 if self.side_radius_mm is None else self.side_radius_mm

    @property
    def active_coils(self) -> float:
        """Coils that twist, by the hook rule."""
        if self.hook_rule is HookRule.STATED:
            return self.body_coils + self.hook_coils
        return self.body_coils + self.shear_modulus_mpa / float(self.wire.e_mpa(self.wire_mm))

    @property
    def rate_n_per_mm(self) -> float:
        """Rate in N/mm."""
        return float(
            rate_n_per_mm(
                self.wire_mm, self.mean_diameter_mm, self.active_coils, self.shear_modulus_mpa
            )
        )

    @property
    def free_length_mm(self) -> float:
        """Unloaded length between the insides of the hooks of a close-wound spring in mm."""
        plain = natural_length_mm(self.wire_mm, self.mean_diameter_mm, self.body_coils)
        return float(plain) + self.hook_extension_mm

    @property
    def initial_stress_mpa(self) -> float:
        """Torsion stress of the initial tension in MPa, without curvature factor."""
        return float(torsion_mpa(self.initial_tension_n, self.wire_mm, self.mean_diameter_mm))

    @property
    def tension_state(self) -> TensionState:
        """The initial tension against what is usually wound in."""
        if self.initial_tension_n == 0:
            return TensionState.NONE
        middle, half = preferred_initial_stress_mpa(self.index)
        if self.initial_stress_mpa < middle - half:
            return TensionState.BELOW
        return TensionState.ABOVE if self.initial_stress_mpa > middle + half else (
            TensionState.PREFERRED
        )  # fmt: skip

    def force_n(self, length_mm: ArrayLike, free_length_mm: float | None = None) -> Floats:
        """Force in N at a length in mm: 0 up to the free length, then tension and rate."""
        stretch = np.asarray(length_mm, float) - (
            self.free_length_mm if free_length_mm is None else free_length_mm
        )
        return np.where(stretch > 0, self.initial_tension_n + self.rate_n_per_mm * stretch, 0.0)


def rate_n_per_mm(
    wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, active_coils: ArrayLike, g_mpa: ArrayLike
) -> NDArray[np.float64]:
    """Rate in N/mm: G d⁴ / (8 D³ N) (Shigley eq. 10-9; EN 13906-2)."""
    d, big, n, g = (np.asarray(a, float) for a in (wire_mm, mean_diameter_mm, active_coils, g_mpa))
    found: NDArray[np.float64] = g * d**4 / (8 * big**3 * n)
    return found


def rate_uncertainty(
    coil: ExtensionSpring,
    u_wire_mm: float = 0.0,
    u_diameter_mm: float = 0.0,
    u_coils: float = 0.0,
    relative_u_g: float | None = None,
    *,
    outside: bool = False,
) -> float:
    """Standard uncertainty of the rate in N/mm.

    Parameters
    ----------
    u_wire_mm, u_diameter_mm, u_coils : float
        Standard uncertainties of wire, coil diameter and active coils, ≥ 0.
    relative_u_g : float or None
        Of the shear modulus; None takes that of the material's table.
    outside : bool
        True if the *outside* diameter was measured (and the wire subtracted): an error of the wire
        then enters the mean diameter too, with the opposite sign, which makes it count for more.

    Notes
    -----
    First-order propagation (GUM, 5.1): relative sensitivities 4 to d, −3 to D, −1 to N, 1 to G.
    """
    d, big = coil.wire_mm, coil.mean_diameter_mm
    to_wire = 4 / d + (3 / big if outside else 0.0)
    relative_g = coil.wire.relative_u_g if relative_u_g is None else relative_u_g
    parts = (to_wire * u_wire_mm, 3 * u_diameter_mm / big, u_coils / coil.active_coils, relative_g)
    return coil.rate_n_per_mm * math.hypot(*parts)


def natural_length_mm(
    wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, body_coils: ArrayLike
) -> NDArray[np.float64]:
    """Length in mm between the insides of two full loops on a close-wound body:
    2 (D − d) + (N_b + 1) d (Shigley eq. 10-39)."""
    d = np.asarray(wire_mm, float)
    found: NDArray[np.float64] = (
        2 * (np.asarray(mean_diameter_mm) - d) + (np.asarray(body_coils) + 1) * d
    )
    return found


def bergstraesser_factor(index: ArrayLike) -> NDArray[np.float64]:
    """Curvature and direct shear, (4C + 2)/(4C − 3) (Shigley eq. 10-5; EN 13906-2)."""
    c = np.asarray(index, float)
    found: NDArray[np.float64] = (4 * c + 2) / (4 * c - 3)
    return found


def wahl_factor(index: ArrayLike) -> NDArray[np.float64]:
    """Curvature and direct shear, (4C − 1)/(4C − 4) + 0.615/C (Shigley eq. 10-4)."""
    c = np.asarray(index, float)
    found: NDArray[np.float64] = (4 * c - 1) / (4 * c - 4) + 0.615 / c
    return found


def torsion_mpa(
    force_n: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, factor: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Shear stress in MPa of the wire under an axial force: K · 8 F D / (π d³)."""
    f, d, big = (np.asarray(a, float) for a in (force_n, wire_mm, mean_diameter_mm))
    found: NDArray[np.float64] = np.asarray(factor) * 8 * f * big / (np.pi * d**3)
    return found


def tension_from_stress_n(
    stress_mpa: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike
) -> NDArray[np.float64]:
    """Initial tension in N whose uncorrected torsion stress is given: π d³ τ / (8 D)."""
    return np.asarray(stress_mpa) / torsion_mpa(1.0, wire_mm, mean_diameter_mm)


def preferred_initial_stress_mpa(index: ArrayLike) -> tuple[Floats, Floats]:
    """Middle and half width in MPa of the initial-tension stress that winders hold well.

    Notes
    -----
    Shigley eq. 10-41: 33 500/exp(0.105 C) ± 1000 (4 − (C − 3)/6.5) psi; meant for C from 4 to 16.
    """
    c = np.asarray(index, float)
    middle = 33500 / np.exp(0.105 * c)
    half = np.maximum(1000 * (4 - (c - 3) / 6.5), 0.0)
    return middle * _MPA_PER_PSI, half * _MPA_PER_PSI


def hook_bending_mpa(
    force_n: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, loop_radius_mm: ArrayLike
) -> NDArray[np.float64]:
    """Largest tension stress in MPa of the loop, at the middle of its bend (Shigley eq. 10-34)."""
    f, d, big, r = (
        np.asarray(a, float) for a in (force_n, wire_mm, mean_diameter_mm, loop_radius_mm)
    )
    c = 2 * r / d
    k = (4 * c**2 - c - 1) / (4 * c * (c - 1))
    found: NDArray[np.float64] = f * (k * 16 * big / (np.pi * d**3) + 4 / (np.pi * d**2))
    return found


def hook_torsion_mpa(
    force_n: ArrayLike, wire_mm: ArrayLike, mean_diameter_mm: ArrayLike, bend_radius_mm: ArrayLike
) -> NDArray[np.float64]:
    """Shear stress in MPa where the body bends up into the loop (Shigley eq. 10-36)."""
    c = 2 * np.asarray(bend_radius_mm, float) / np.asarray(wire_mm, float)
    return torsion_mpa(force_n, wire_mm, mean_diameter_mm, (4 * c - 1) / (4 * c - 4))


@frozen
class Stresses:
    """Stresses under one force, in MPa, and how far each is from leaving a permanent set.

    ``body_mpa`` has the Bergsträsser factor, ``body_wahl_mpa`` Wahl's. The ``_margin`` values are
    allowed stress / stress: below 1 a set is possible; infinite without force.
    """

    force_n: float
    body_mpa: float
    body_wahl_mpa: float
    hook_bending_mpa: float
    hook_torsion_mpa: float
    body_margin: float
    hook_bending_margin: float
    hook_torsion_margin: float

    @property
    def margin(self) -> float:
        """The smallest of the three margins."""
        return min(self.body_margin, self.hook_bending_margin, self.hook_torsion_margin)

    @property
    def weakest(self) -> str:
        """Where it is: ``"body"``, ``"hook-bending"`` or ``"hook-torsion"``."""
        found = {"body": self.body_margin, "hook-bending": self.hook_bending_margin,
                 "hook-torsion": self.hook_torsion_margin}  # fmt: skip
        return min(found, key=found.__getitem__)

    @property
    def risk(self) -> SetRisk:
        """Whether it may take a set."""
        if self.margin >= 1:
            return SetRisk.HOLDS
        return SetRisk.MAY_SET if self.margin >= _SURE_OF_SET else SetRisk.SETS


def stresses(coil: ExtensionSpring, force_n: float) -> Stresses:
    """Stresses in MPa of body and hooks under a force in N (≥ 0), with their margins.

    Raises
    ------
    BobweightError
        ``load-negative``.
    """
    if not force_n >= 0:
        raise BobweightError("load-negative", ("force_n",), value=force_n)
    size = force_n, coil.wire_mm, coil.mean_diameter_mm
    body = float(torsion_mpa(*size, bergstraesser_factor(coil.index)))
    bending = float(hook_bending_mpa(*size, coil.loop_radius_mm))
    torsion = float(hook_torsion_mpa(*size, coil.bend_radius_mm))
    strength, wire = coil.strength_mpa, coil.wire

    def margin(share: float, stress: float) -> float:
        return share * strength / stress if stress else math.inf

    return Stresses(
        force_n=force_n,
        body_mpa=body,
        body_wahl_mpa=float(torsion_mpa(*size, wahl_factor(coil.index))),
        hook_bending_mpa=bending,
        hook_torsion_mpa=torsion,
        body_margin=margin(wire.body, body),
        hook_bending_margin=margin(wire.hook_bending, bending),
        hook_torsion_margin=margin(wire.hook_torsion, torsion),
    )


def stresses_at_length(
    coil: ExtensionSpring, length_mm: float, free_length_mm: float | None = None
) -> Stresses:
    """:func:`stresses` at a length in mm; the free length is the coil's own unless measured."""
    return stresses(coil, float(coil.force_n(length_mm, free_length_mm)))
