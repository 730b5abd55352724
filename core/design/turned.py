"""How far cam and weight turn, from the distance between two points at rest and out.

One point stands, the other moves with the part; both lie at known distances from the axis on which
it turns, the shaft's for the cam and the pivot's for a weight. Two triangles give the angle.
"""

from __future__ import annotations

import math
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.moved import with_moved
from bobweight.core.mechanics.places import turned_deg
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import (
    Record,
    flag,
    number,
    one,
    put_measured,
    standard_uncertainty,
    stored,
)
from bobweight.core.units import LENGTH

DISTANCES = ("standing_mm", "moving_mm", "rest_mm", "out_mm")
_STEP_MM = 1e-6


def _arm(label: str, help: str) -> Any:
    """How far a point lies from what the part turns on."""
    return number(label, LENGTH, hard=(0.5, 300.0), usual=(5.0, 60.0), uncertain=True, trade_u=0.1,
                  help=help)  # fmt: skip


@stored
class Distances(Record):
    """Four distances that say how far one part has turned."""

    standing_mm: float | None = _arm(
        "Axis to the point that stands", "From the axis of the shaft, on which the cam turns."
    )
    moving_mm: float | None = _arm(
        "Axis to the point that moves", "Any point of the part that callipers can find again."
    )
    rest_mm: float | None = number(
        "Between the two at rest", LENGTH, hard=(0.0, 600.0), usual=(2.0, 80.0), uncertain=True,
        trade_u=0.1, help="With the weights fully in.",
    )  # fmt: skip
    out_mm: float | None = number(
        "Between the two moved out", LENGTH, hard=(0.0, 600.0), usual=(2.0, 80.0), uncertain=True,
        trade_u=0.1, help="With the weights held out. The point must not have passed the other.",
    )  # fmt: skip


@stored
class SwingDistances(Distances):
    """The same of a weight, which turns on its pivot."""

    standing_mm: float | None = _arm(
        "Pivot to the point that stands", "From the middle of the pivot on which it swings."
    )
    moving_mm: float | None = _arm(
        "Pivot to the point that moves", "Any point of the weight that callipers can find again."
    )


@stored
class Turning(Record):
    """Distances at the cam and at a weight, taken with the weights held at one place."""

    cam: Distances = one("Cam", Distances)
    swing: Distances = one("Weight", SwingDistances)
    at_stop: bool = flag(
        "Weights fully out", True, help="The cam stood at its stop: its angle is the ceiling."
    )


@frozen
class Turned:
    """An angle in degrees with its standard uncertainty."""

    deg: float
    u_deg: float


def turned(distances: Distances) -> Turned | None:
    """The angle by which the part has turned; None while any of its distances is blank.

    Raises
    ------
    BobweightError
        ``distances-no-triangle`` at a distance; ``distances-in-line`` where axis and points stand
        in one line, so that a distance says nothing of an angle.
    """
    given = [getattr(distances, key) for key in DISTANCES]
    if None in given:
        return None
    here, square = turned_deg(*given), 0.0
    for index, key in enumerate(DISTANCES):
        slope = math.inf
        for step in (_STEP_MM, -_STEP_MM):
            moved = [*given]
            moved[index] += step
            try:
                slope = min(slope, abs(turned_deg(*moved) - here) / _STEP_MM)
            except BobweightError:
                continue
        square += (slope * (standard_uncertainty(distances, key) or 0.0)) ** 2
    u = math.sqrt(square)
    if not u <= 90.0:
        raise BobweightError("distances-in-line", ("rest_mm",))
    return Turned(here, u)


def with_turning(docket: Docket, asked: Turning) -> Docket:
    """The docket with what the distances say: the stop from the cam's angle with the weights fully
    out, and the linkage from cam and swing together.

    Raises
    ------
    BobweightError
        Those of :func:`turned`, at ``cam`` or ``swing``; a figure beyond its limits.
    """
    found: dict[str, Turned | None] = {}
    for part in ("cam", "swing"):
        try:
            found[part] = turned(getattr(asked, part))
        except BobweightError as error:
            raise BobweightError(
                error.problem.code, (part, *error.problem.path), **error.problem.facts
            ) from error
    cam, swing = found["cam"], found["swing"]
    if cam is not None and asked.at_stop:
        stop: Path = ("mechanism", "stop_deg")
        docket = put_measured(docket, stop, cam.deg, cam.u_deg)
    if cam is not None and swing is not None:
        docket = with_moved(docket, cam.deg, cam.u_deg, swing.deg, swing.u_deg)
    return docket
