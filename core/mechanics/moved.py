"""Cam angle and swing of a weight as they were measured: taken into the linkage, or held against
it."""

from __future__ import annotations

import math

import numpy as np

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, SwingPoint
from bobweight.core.frozen import frozen
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
"""Standard uncertainties within which two figures are taken for one."""
_SAME_DEG = 0.05


@frozen
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

    A linkage of constant ratio takes the ratio; one measured as swing gains a row, from rest and
    in place of one measured there before. Others are left as they are: what was measured proves
    them (:func:`proof`).

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
    if linkage.kind == "measured" and (linkage.measured_as == "swing" or not linkage.points):
        cam, swing = as_fine(cam_deg, u_cam_deg)[0], as_fine(swing_deg, u_swing_deg)[0]
        near = max(_AGREE * u_cam_deg, _SAME_DEG)
        others = [p for p in linkage.points if p.cam_deg is None or abs(p.cam_deg - cam) > near]
        if not any(p.cam_deg == 0.0 for p in others):
            others.append(SwingPoint(cam_deg=0.0, swing_deg=0.0))
        rows = sorted((*others, SwingPoint(cam_deg=cam, swing_deg=swing)),
                      key=lambda p: math.inf if p.cam_deg is None else p.cam_deg)  # fmt: skip
        changed = linkage.with_changes(measured_as="swing", points=tuple(rows))
        return put(docket, _LINKAGE, changed)
    return docket
