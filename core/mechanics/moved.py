"""Cam angle and swing of a weight as they were measured: taken into the linkage, or held against
it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, SwingPoint
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.drawable import drawable
from bobweight.core.mechanics.linkage import linkage_class
from bobweight.core.mechanics.motion import Motion
from bobweight.core.problems import Path
from bobweight.core.record import as_fine, get, put, put_measured, standard_uncertainty

_LINKAGE = ("mechanism", "linkage")
_PLACES = ("pivot_radius_mm", "rest_angle_deg")
_STEP = 1e-4
_AGREE = 2.0


@dataclass(frozen=True)
class Proof:
    """A linkage held against cam and swing as they were measured.

    Attributes
    ----------
    cam_deg, u_cam_deg : float
        By the linkage's own figures, at the swing measured; the standard uncertainty is that of
        the figures.
    agrees : bool
        Whether the cam was measured there, within two standard uncertainties of all together.
    """

    cam_deg: float
    u_cam_deg: float
    agrees: bool


def proof(
    mechanism: Mechanism, cam_deg: float, u_cam_deg: float, swing_deg: float, u_swing_deg: float
) -> Proof | None:
    """The linkage held against what was measured; None where it is itself taken from that, or its
    figures are not all known."""
    known = drawable(mechanism)
    if known is None or mechanism.linkage.kind not in ("slot", "link"):
        return None

    def cam_of(m: Mechanism, swing: float) -> float:
        own = Motion(Builds(m)).linkages[0]
        return float(np.degrees(np.squeeze(own.cam(np.radians(np.full((1, 1, 1), swing))))))

    here = cam_of(known, swing_deg)
    if not math.isfinite(here):
        return Proof(math.nan, math.nan, False)
    paths: list[Path] = [("weights", key) for key in _PLACES]
    needs = linkage_class(known).needs
    paths += [("linkage", key) for key in needs if key.endswith(("_mm", "_deg"))]
    square = 0.0
    for path in paths:
        u = standard_uncertainty(get(known, path[:1]), str(path[-1])) or 0.0
        slope = (cam_of(put(known, path, get(known, path) + _STEP), swing_deg) - here) / _STEP
        square += (slope * u) ** 2
    slope = (cam_of(known, swing_deg + _STEP) - here) / _STEP
    away = math.hypot(math.sqrt(square), slope * u_swing_deg, u_cam_deg)
    return Proof(here, math.sqrt(square), abs(cam_deg - here) <= _AGREE * away)


def with_moved(
    docket: Docket, cam_deg: float, u_cam_deg: float, swing_deg: float, u_swing_deg: float
) -> Docket:
    """The docket with its linkage as cam and weight moved from rest, degrees with standard
    uncertainties.

    A linkage of constant ratio takes the ratio; a measured one gains a row. Others are left as
    they are: what was measured proves them (:func:`proof`).

    Raises
    ------
    BobweightError
        If a figure is beyond its limits.
    """
    linkage = docket.mechanism.linkage
    if linkage.kind == "constant" and swing_deg > 0:
        ratio = cam_deg / swing_deg
        relative = math.hypot(u_cam_deg / max(cam_deg, 1e-9), u_swing_deg / swing_deg)
        return put_measured(docket, (*_LINKAGE, "ratio"), ratio, ratio * relative)
    if linkage.kind == "measured":
        cam, swing = as_fine(cam_deg, u_cam_deg)[0], as_fine(swing_deg, u_swing_deg)[0]
        row = SwingPoint(cam_deg=cam, swing_deg=swing)
        rows = sorted((*linkage.points, row), key=lambda p: p.cam_deg or 0.0)
        return put(docket, (*_LINKAGE, "points"), tuple(rows))
    return docket
