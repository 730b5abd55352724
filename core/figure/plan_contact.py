"""How the cam foot meets what drives it and what stops it, for the drawing.

The foot's toe is round. The flank of the weight is the curve that touches it all the way from rest
to the stop while cam and weight turn as the linkage has it: the envelope of the toe as the weight
sees it. Places are complex numbers in mm of the base plate, advance counter-clockwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.figure.plan_shapes import Points, freest_direction, polar, stadium
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.motion import Motion
from bobweight.core.mechanics.pose import Pose
from bobweight.core.problems import required

TOE_MM = 2.4
ARM_MM = 2.0
PIN_MM = 1.5
_STEPS = 13
_ROUND_DEG = 6.0
_END_MM = 0.8
_SOUND = 0.5
"""Share of the flank's push that turns the cam, below which no one would make it so."""
Places = NDArray[np.complex128]
Turns = tuple[tuple[float, float, float], ...]
"""Cam angle, turn of the weight (both radians, counter-clockwise) and its slope, from rest on."""


@frozen(eq=False)
class Contact:
    """The toe's middle at rest; the flank at rest, shape (n, 2); and the body of the weight that
    carries it, an outline that reaches into the weight."""

    toe: Points
    flank: Points
    lug: Points


@frozen(eq=False)
class StopOnPlate:
    """The stop's pin, the rubber about it (its thickness, 0 for none), and the arm of the cam foot
    that meets it, at rest."""

    at: Points
    rubber_mm: float
    arm: Points


def turns_of_weights(mechanism: Mechanism, end_deg: float) -> list[Turns]:
    """How every weight turns while the cam goes from rest to its end."""
    cam = np.radians(np.linspace(0.0, end_deg, _STEPS))
    motion = Motion(Builds(mechanism))
    swing = motion.at(cam[None, None, :])
    found = []
    for index, (phi, slope) in enumerate(zip(swing.phi_rad, swing.slope, strict=True)):
        way = -float(np.reshape(motion.side(index), -1)[0])  # outward lowers the turn
        rows = zip(
            cam, way * np.broadcast_to(phi, (1, 1, _STEPS)).ravel(),
            way * np.broadcast_to(slope, (1, 1, _STEPS)).ravel(), strict=True,
        )  # fmt: skip
        found.append(tuple((float(a), float(b), float(c)) for a, b, c in rows))
    return found


def contacts(
    mechanism: Mechanism, rest: Pose, bodies: Sequence[Points], hub_mm: float
) -> list[Contact | None]:
    """Toe and flank of each weight that drives the cam by touching it; None for one that drives it
    by a pin, whose motion is not known, or that could not push the cam from beside its body.

    Parameters
    ----------
    bodies : sequence of array, shape (n, 2)
        Outlines of the weights at rest.
    hub_mm : float
        Radius of the foot's hub.
    """
    if all(weight.pin_xy is not None for weight in rest.weights):
        return [None] * len(rest.weights)
    end = float(required(mechanism.end_deg))
    by_ratio = mechanism.linkage.kind == "constant"
    # the toe is chosen for a stop in round figures, so that it stands still while one is dragged
    wide = _ROUND_DEG * float(np.ceil(end / _ROUND_DEG)) if by_ratio else end
    wanted, chosen = turns_of_weights(mechanism, end), turns_of_weights(mechanism, wide)
    found: list[Contact | None] = []
    for weight, body, turns, wider in zip(rest.weights, bodies, wanted, chosen, strict=True):
        pivot, cg = complex(*weight.pivot_xy), complex(*weight.cg_xy)
        out = pivot / abs(pivot)
        toe = None
        if weight.pin_xy is None and np.isfinite(wider).all():
            rim = (body @ np.array([1.0, 1j])) / out
            seen = np.round(rim, 5) + 0.0  # like weights have one answer
            toe = _toe(round(abs(pivot), 5), seen.tobytes(), wider, round(hub_mm, 5))
        found.append(None if toe is None else _contact(pivot, cg, toe * out, turns))
    return found


@lru_cache(maxsize=32)
def _toe(pivot_mm: float, body: bytes, turns: Turns, hub_mm: float) -> complex | None:
    """The best place of the toe, the pivot lying on the x axis."""
    rim, pivot = np.frombuffer(body, np.complex128), complex(pivot_mm)
    toes = _tries(pivot_mm, hub_mm)
    seen, flank, push = flanks(pivot, toes, turns)
    ways, along = np.diff(seen, axis=1), np.diff(flank, axis=1)
    good = np.all((ways * along.conj()).real > 0, axis=1) & (push.min(axis=1) >= _SOUND)
    toes, seen, push = toes[good], seen[good], push[good]
    gap = np.abs(seen[:, :, None] - rim).min(axis=2, initial=np.inf).min(axis=1, initial=np.inf)
    clear = (gap >= TOE_MM - 0.1) & ~_inside(rim, seen).any(axis=1)
    if not clear.any():
        return None
    cost = gap + 6.0 * (1.0 - push.min(axis=1)) + 0.1 * np.abs(toes)
    return complex(toes[int(np.argmin(np.where(clear, cost, np.inf)))])


def _contact(pivot: complex, cg: complex, toe: complex, turns: Turns) -> Contact:
    """The flank for a toe, a little longer than it need be, and what carries it."""
    line = flanks(pivot, np.array([toe]), turns)[1][0]
    ends = [_END_MM * (a - b) / (abs(a - b) or 1.0)
            for a, b in ((line[0], line[1]), (line[-1], line[-2]))]  # fmt: skip
    line = np.concatenate([[line[0] + ends[0]], line, [line[-1] + ends[1]]])
    arm = cg - pivot
    feet = [pivot + arm * float(np.clip(((end - pivot) / arm).real, 0.05, 1.2))
            for end in (line[-1], line[0])]  # fmt: skip
    at = np.array([toe.real, toe.imag])
    return Contact(at, _points(line), _points(np.concatenate([line, feet])))


def flanks(pivot: complex, toes: Places, turns: Turns) -> tuple[Places, Places, Points]:
    """For each toe: its middle as the weight sees it (the weight at rest), where its circle touches
    the flank, and the share of the push that turns the cam; each of shape (toes, steps)."""
    cam, turn, slope = (np.array(column) for column in zip(*turns, strict=True))
    at = toes[:, None] * np.exp(1j * cam)
    back = np.exp(-1j * turn)
    seen = pivot + (at - pivot) * back
    goes = 1j * at * back  # the way the cam goes there
    slides = goes - 1j * slope * (at - pivot) * back
    across = 1j * slides / np.maximum(np.abs(slides), 1e-9)
    push = (across * goes.conj()).real / np.abs(goes)
    across = np.where(push < 0, -across, across)
    return seen, seen - TOE_MM * across, np.abs(push)


def _tries(pivot_mm: float, hub_mm: float) -> Places:
    radii = np.linspace(hub_mm + 1.5, max(1.1 * pivot_mm, hub_mm + 3.0), 14)
    turns = np.radians(np.arange(-120.0, 120.1, 6.0))
    found: Places = (radii[:, None] * np.exp(1j * turns)).ravel()
    return found


def _inside(rim: Places, places: Places) -> NDArray[np.bool_]:
    """Whether places lie in an outline, by the edges that a ray from each crosses."""
    a, b, p = rim, np.roll(rim, -1), places[..., None]
    spans = (a.imag > p.imag) != (b.imag > p.imag)
    rise = np.where(b.imag == a.imag, 1.0, b.imag - a.imag)
    x = a.real + (p.imag - a.imag) * (b.real - a.real) / rise
    inside: NDArray[np.bool_] = np.count_nonzero(spans & (x > p.real), axis=-1) % 2 == 1
    return inside


def _points(places: Places) -> Points:
    return np.column_stack([places.real, places.imag])


def stop_on_plate(mechanism: Mechanism, hub_mm: float, inner_mm: float, taken: Points
                  ) -> StopOnPlate:  # fmt: skip
    """The stop where it was measured, else where there is most room.

    Parameters
    ----------
    hub_mm, inner_mm : float
        Radius of the foot's hub, and of the nearest pivot.
    taken : array, shape (n, 2)
        What else stands or moves on the plate.
    """
    plate, stop_deg = mechanism.plate, float(mechanism.stop_deg or 0.0)
    radius = max(plate.stop_radius_mm or max(hub_mm + 4.0, 0.55 * inner_mm), 1.1 * ARM_MM)
    rubber = float(np.radians(mechanism.stop_give_taken_deg) * radius)
    apart = ARM_MM + PIN_MM + rubber  # of the pin's middle from the middle of the arm, in touch
    at = float(np.sqrt(radius**2 - ARM_MM**2 + apart**2))
    turn = float(np.degrees(np.arcsin(apart / at)))
    ahead = turn - float(np.degrees(np.arcsin(ARM_MM / radius)))
    angle = plate.stop_angle_deg
    if angle is None:
        near = taken[np.abs(np.hypot(*taken.T) - radius) < 4.0] if len(taken) else taken
        free = freest_direction([float(a) for a in np.degrees(np.arctan2(near[:, 1], near[:, 0]))])
        angle = free + 0.5 * (stop_deg + turn) - ahead
    arm = stadium(np.zeros(2), polar(at, angle + ahead - turn - stop_deg), ARM_MM)
    return StopOnPlate(polar(at, angle + ahead), rubber, arm)
