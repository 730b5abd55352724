"""What an instrument shows for a true advance, and the true advance for what it shows.

    y = zero + ratio · θ − 6 · N · t_lag · 10⁻³,    N = s · N_shown

θ distributor degrees of advance (centrifugal and vacuum together), N true speed of the shaft that
is read in rev/min: the crank for a lamp, the distributor on a rig, where the ratio is 1; zero what
static setting and reference mark come to. A delay of t_lag ms retards in proportion to speed, as
the shaft turns 6 N degrees a second (Rajput, A Textbook of Internal Combustion Engines, Ex. 5.1).

Every argument is a number or an array; arrays broadcast, builds × readings.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Instrument
from bobweight.core.frozen import frozen
from bobweight.core.record import standard_uncertainty

Array = np.ndarray | float
DEG_PER_MS_RPM = 6e-3
"""Degrees that a shaft at 1 rev/min turns in 1 ms."""


@frozen
class Reader:
    """One lamp or rig, or many that differ in some values.

    Attributes
    ----------
    zero_deg : float or array
        What it shows without any advance: static setting and error of the mark together.
    ratio : float or array
        Turns of the shaft that is read for one of the distributor.
    scale : float or array
        True speed per shown speed.
    lag_ms : float or array
        Total electronic delay.
    """

    zero_deg: Array = 0.0
    ratio: Array = 1.0
    scale: Array = 1.0
    lag_ms: Array = 0.0

    @classmethod
    def of(cls, instrument: Instrument, particulars: Particulars) -> Reader:
        """The instruments of a session."""
        return cls(
            instrument.static_taken_deg + instrument.mark_error_taken_deg,
            ratio_of(instrument, particulars), instrument.scale_taken, instrument.lag_taken_ms,
        )  # fmt: skip

    def late_deg(self, true_rpm: Array) -> Array:
        """Degrees of the shaft by which the delay retards what is seen, at its true speed."""
        return DEG_PER_MS_RPM * true_rpm * self.lag_ms

    def shown(self, speed_rpm: Array, advance_deg: Array) -> tuple[Array, Array]:
        """Speed and angle shown at a distributor speed and advance in distributor degrees."""
        true_rpm = speed_rpm * self.ratio
        angle = self.zero_deg + self.ratio * advance_deg - self.late_deg(true_rpm)
        return true_rpm / self.scale, angle

    def true(self, shown_rpm: Array, shown_deg: Array) -> tuple[Array, Array]:
        """Distributor speed and advance in distributor degrees of what is shown."""
        true_rpm = shown_rpm * self.scale
        angle = shown_deg - self.zero_deg + self.late_deg(true_rpm)
        return true_rpm / self.ratio, angle / self.ratio

    def u_single(self, u_shown_rpm: Array, u_shown_deg: Array) -> tuple[Array, Array]:
        """Standard uncertainties of a single reading, in distributor figures."""
        u_true_rpm = u_shown_rpm * self.scale
        return u_true_rpm / self.ratio, np.hypot(
            u_shown_deg, self.late_deg(u_true_rpm)
        ) / self.ratio


def ratio_of(instrument: Instrument, particulars: Particulars) -> float:
    """Turns of the shaft that is read for one of the distributor."""
    return particulars.ratio_taken if instrument.kind_taken == "lamp" else 1.0


def u_shared_deg(instrument: Instrument, ratio: Array, speed_rpm: Array) -> np.ndarray:
    """Standard uncertainty in distributor degrees that all readings share: static, mark, delay."""
    late = DEG_PER_MS_RPM * np.asarray(speed_rpm) * ratio
    static, mark = (
        standard_uncertainty(instrument, k) or 0.0 for k in ("static_deg", "mark_error_deg")
    )
    return np.hypot(
        np.hypot(static, mark), late * (standard_uncertainty(instrument, "lag_ms") or 0.0)
    ) / (ratio)
