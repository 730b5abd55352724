"""Current in the ignition coil while the contacts are closed.

    i(t) = (V / R) (1 − exp(−t R / L)),        R = coil + ballast

The current starts from nothing at each closing (the spark has spent it) and the contacts close at
once. Source: Robertson, Fundamental Electrical and Electronic Principles, ch. 8 (growth of
current in an inductive circuit). Dwell in distributor degrees, speed in distributor rev/min.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.bench._checks import Values, plain, positive, within
from bobweight.core.bench.points import dwell_time_ms
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.instrument import DEG_PER_MS_RPM
from bobweight.core.problems import BobweightError


@frozen
class CoilCircuit:
    """Supply, coil and ballast in series.

    Parameters
    ----------
    supply_v : float
        Volts across coil and ballast with the engine running, above 0.
    coil_ohm : float
        Resistance of the primary winding, above 0.
    inductance_mh : float
        Inductance of the primary winding in mH, above 0.
    ballast_ohm : float
        Resistance in series, 0 or more.
    """

    supply_v: float
    coil_ohm: float
    inductance_mh: float
    ballast_ohm: float = 0.0

    def __post_init__(self) -> None:
        positive("supply_v", self.supply_v, "V")
        positive("coil_ohm", self.coil_ohm, "Ω")
        positive("inductance_mh", self.inductance_mh, "mH")
        within("ballast_ohm", self.ballast_ohm, 0, unit="Ω")

    @property
    def resistance_ohm(self) -> float:
        """Coil and ballast together, Ω."""
        return self.coil_ohm + self.ballast_ohm

    @property
    def final_a(self) -> float:
        """Current with the contacts closed for good, A."""
        return self.supply_v / self.resistance_ohm

    @property
    def time_constant_ms(self) -> float:
        """L / R, ms."""
        return self.inductance_mh / self.resistance_ohm

    @property
    def standing_heat_w(self) -> float:
        """Heat in the coil alone, W, with the ignition on, the engine stopped and the contacts
        closed: the reason for the caution about leaving it so."""
        return self.final_a**2 * self.coil_ohm


def current_a(circuit: CoilCircuit, closed_ms: ArrayLike) -> Values:
    """Current in A after the contacts have been closed for a time in ms (0 or more)."""
    time = within("closed_ms", closed_ms, 0, unit="ms")
    return plain(-circuit.final_a * np.expm1(-time / circuit.time_constant_ms))


def current_at_opening_a(
    circuit: CoilCircuit, dwell_deg: ArrayLike, distributor_rpm: ArrayLike
) -> Values:
    """Current in A at the end of the dwell, at distributor speeds."""
    return current_a(circuit, dwell_time_ms(dwell_deg, distributor_rpm))


def closed_time_for_current_ms(circuit: CoilCircuit, wanted_a: ArrayLike) -> Values:
    """Time in ms that the contacts must stay closed for a wanted current.

    Raises
    ------
    BobweightError
        ``current-never-reached`` with the wanted and the final current.
    """
    wanted = positive("wanted_a", wanted_a, "A")
    out = wanted >= circuit.final_a
    if out.any():
        raise BobweightError(
            "current-never-reached", ("wanted_a",), wanted_a=float(wanted[out].flat[0]),
            final_a=circuit.final_a,
        )  # fmt: skip
    return plain(-circuit.time_constant_ms * np.log1p(-wanted / circuit.final_a))


def falls_short_rpm(circuit: CoilCircuit, dwell_deg: ArrayLike, wanted_a: ArrayLike) -> Values:
    """Distributor speed in rev/min above which the current at opening is less than wanted.

    Raises
    ------
    BobweightError
        As :func:`closed_time_for_current_ms`.
    """
    dwell = positive("dwell_deg", dwell_deg, "°")
    return plain(
        dwell / (DEG_PER_MS_RPM * np.asarray(closed_time_for_current_ms(circuit, wanted_a)))
    )
