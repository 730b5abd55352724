"""What pulls and what holds: the torques at the cam whose balance is the advance curve.

The weights pull with ½ ω² J'(θ). Held against them are the springs U'(θ), the drag of the heel and
friction, which works against the motion: rising asks more of the weights than falling.
"""

from __future__ import annotations

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import NMM_PER_G_MM2_RAD_S2, RPM_PER_RAD_S, balance_of

_KNOTS = 120  # wanted, shared between the stretches that take-ups part


@frozen(eq=False)
class Torques:
    """Torques at the cam against advance, in N·mm; arrays of shape (knots,).

    Attributes
    ----------
    advance_deg : array
        From rest to stop, distributor degrees; a take-up stands twice, before and after.
    springs_nmm : array, shape (springs, knots)
        Of each spring, zero until it is taken up.
    drag_nmm : float
        Of the contact breaker's heel.
    stop_nmm : array
        Of a rubber stop that is pressed.
    rising_nmm, falling_nmm : array
        What the weights must pull with, friction counted in, to move out and to come back.
    pull_gmm2 : array
        J'(θ) of all weights, g·mm² a radian.
    """

    advance_deg: np.ndarray
    springs_nmm: np.ndarray
    drag_nmm: float
    stop_nmm: np.ndarray
    rising_nmm: np.ndarray
    falling_nmm: np.ndarray
    pull_gmm2: np.ndarray

    @property
    def held_nmm(self) -> np.ndarray:
        """Springs, drag and stop together, without friction."""
        found: np.ndarray = np.asarray(self.springs_nmm.sum(axis=0)) + self.drag_nmm + self.stop_nmm
        return found

    def weights_nmm(self, speed_rpm: float) -> np.ndarray:
        """What the weights pull with at a distributor speed."""
        omega = speed_rpm / RPM_PER_RAD_S
        return np.asarray(0.5 * omega**2 * self.pull_gmm2 * NMM_PER_G_MM2_RAD_S2)


def torques(mechanism: Mechanism) -> Torques:
    """The torques of a mechanism that can be predicted."""
    balance = balance_of(mechanism)
    edges = balance.edges_rad
    low, high = edges[:, :-1, None], edges[:, 1:, None]
    each = max(8, -(-_KNOTS // low.shape[1]))
    theta = low + (high - low) * np.linspace(0.0, 1.0, each)
    swing = balance.motion.at(theta)
    engaged = balance.engaged_at(0.5 * (low + high))
    springs = [
        np.where(on, path.torque_nmm(theta, swing), 0.0)
        for path, on in zip(balance.paths, engaged, strict=True)
    ]
    each_spring = np.array([s.reshape(-1) for s in springs]).reshape(len(springs), -1)
    drag, stick = mechanism.heel_drag_taken_nmm, mechanism.stick_taken_nmm
    grip = mechanism.grip_taken
    if not springs:
        each_spring = np.zeros((0, theta.size))
    pressed_deg = np.degrees(np.maximum(theta - balance.stop_rad, 0.0)).reshape(-1)
    rubber = mechanism.stop_rate_taken_nmm_per_deg * pressed_deg
    held = each_spring.sum(axis=0) + drag + rubber
    pull = np.broadcast_to(balance.motion.inertia_slope(theta, swing), theta.shape)
    return Torques(
        np.degrees(theta).reshape(-1), each_spring, float(drag), rubber,
        (held + stick) / (1.0 - grip), (held - stick) / (1.0 + grip), pull.reshape(-1),
    )  # fmt: skip
