"""Cam angle and swing of a weight as they were measured, taken into the linkage."""

from __future__ import annotations

import math

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import SwingPoint
from bobweight.core.record import as_fine, put, put_measured

_LINKAGE = ("mechanism", "linkage")


def with_moved(
    docket: Docket, cam_deg: float, u_cam_deg: float, swing_deg: float, u_swing_deg: float
) -> Docket:
    """The docket with its linkage as cam and weight moved from rest, degrees with standard
    uncertainties.

    A linkage of constant ratio takes the ratio; a measured one gains a row. Others are left as
    they are: what was measured proves them.

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
