"""Total advance at the crank over engine speed and depression."""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.vacuum import Capsule
from bobweight.core.mechanics.capsule import plate_advance_deg
from bobweight.core.mechanics.predict import Prediction


def total_crank_deg(
    static_deg: float,
    drive_ratio: float,
    prediction: Prediction,
    capsules: tuple[Capsule, ...],
    engine_rpm: np.ndarray | float,
    depression_kpa: np.ndarray | float,
    direction: str = "rising",
    throttle_shut: np.ndarray | bool = False,
) -> np.ndarray:
    """Total advance in crank degrees: static + ratio · (centrifugal + vacuum).

    Parameters
    ----------
    static_deg : float
        Crank degrees before top dead centre without any advance.
    drive_ratio : float
        Crank turns per distributor turn.
    engine_rpm, depression_kpa : array_like
        Broadcast against each other.
    direction : {'rising', 'falling'}
        How the engine came to its speed. With its throttle shut it has slowed down to it: what
        such a state has is the falling advance, whatever the direction.
    throttle_shut : bool or bool array
        As :func:`core.mechanics.capsule.plate_advance_deg`.
    """
    speed = np.asarray(engine_rpm, dtype=float) / drive_ratio
    centrifugal = np.where(
        throttle_shut,
        prediction.advance_deg(speed, "falling"),
        prediction.advance_deg(speed, direction),
    )
    vacuum = plate_advance_deg(capsules, depression_kpa, throttle_shut=throttle_shut)
    found: np.ndarray = static_deg + drive_ratio * (centrifugal + vacuum)
    return found
