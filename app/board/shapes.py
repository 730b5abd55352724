"""Outlines of the drawn parts: plain geometry in millimetres, no Qt.

All outlines are (N, 2) arrays of x, y with y up. Nothing here enters a calculation of the curve:
the shapes are plausible drawings around the points that the mechanism gives.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from bobweight.core.figure.ranges import round_below

Points = NDArray[np.float64]

STEEL_G_PER_MM3 = 0.00785
PLATE_MM = 5.0
"""Thickness taken for a drawn weight, so that a heavier one looks larger."""


def polar(radius_mm: float, angle_deg: float) -> Points:
    """The point at a polar place, in mm."""
    angle = math.radians(angle_deg)
    return np.array([radius_mm * math.cos(angle), radius_mm * math.sin(angle)])


def turned(points: Points, angle_deg: float, shift: Points | None = None) -> Points:
    """Points turned counter-clockwise about the origin, then shifted."""
    angle = math.radians(angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    moved = np.asarray(points) @ np.array([[c, s], [-s, c]])
    return moved if shift is None else moved + shift


def arc(radius_mm: float, from_deg: float, to_deg: float, count: int = 24) -> Points:
    """An arc about the origin."""
    angles = np.radians(np.linspace(from_deg, to_deg, count))
    return radius_mm * np.column_stack([np.cos(angles), np.sin(angles)])


def stadium(start: Points, end: Points, half_width_mm: float, count: int = 11) -> Points:
    """A bar with round ends from one point to another."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = math.degrees(math.atan2(*(end - start)[::-1]))
    far = end + arc(half_width_mm, along - 90, along + 90, count)
    near = start + arc(half_width_mm, along + 90, along + 270, count)
    return np.vstack([far, near])


def weight_outline(
    pivot_xy: Points, cg_xy: Points, mass_g: float | None, shaft_xy: Points | None = None
) -> Points:
    """A rounded body that holds pivot and centre of gravity, curved round the shaft, in mm.

    Its centroid is the centre of gravity, and its area is that of a steel plate of
    ``PLATE_MM`` with the weight's mass, within what still looks like a weight.
    """
    pivot, cg = np.asarray(pivot_xy, float), np.asarray(cg_xy, float)
    shaft = np.zeros(2) if shaft_xy is None else np.asarray(shaft_xy, float)
    arm = cg - pivot
    reach = float(np.hypot(*arm)) or 1.0
    area = (mass_g or 25.0) / (STEEL_G_PER_MM3 * PLATE_MM)
    length = 2.0 * reach
    half = (-length + math.sqrt(length**2 + math.pi * area)) / math.pi  # of a stadium's area
    across = np.array([-arm[1], arm[0]]) / reach
    if np.dot(across, cg - shaft) < 0:
        across = -across
    t = np.linspace(0.0, 1.0, 15)
    bow = (8 / 3) * t - 4 * t**2  # nothing at the pivot and nothing in the mean
    spine = pivot + np.outer(2 * t, arm) + np.outer(bow * 0.28 * reach, across)
    taper = 0.72 + 0.56 * t - 0.14 * t**2
    for _ in range(5):  # moved and widened until it balances where it should and weighs enough
        half = min(max(half, 0.28 * reach), 0.75 * reach)
        outline = _swept(spine, half * taper)
        now, centroid = _area_and_centroid(outline)
        spine = spine + np.outer(t, 1.6 * (cg - centroid))
        half *= area / now
    return outline


def _area_and_centroid(outline: Points) -> tuple[float, Points]:
    """Area and centroid of a closed outline by the surveyor's formula."""
    x, y = outline[:, 0], outline[:, 1]
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    both = outline + np.roll(outline, -1, axis=0)
    return 0.5 * abs(cross.sum()), (both * cross[:, None]).sum(axis=0) / (3.0 * cross.sum())


def _swept(spine: Points, half_widths: Points) -> Points:
    """The outline of a disc of changing size drawn along a spine."""
    tangent = np.gradient(spine, axis=0)
    tangent /= np.hypot(tangent[:, 0], tangent[:, 1])[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    left = spine + normal * half_widths[:, None]
    right = spine - normal * half_widths[:, None]
    end_deg = math.degrees(math.atan2(tangent[-1, 1], tangent[-1, 0]))
    start_deg = math.degrees(math.atan2(tangent[0, 1], tangent[0, 0]))
    cap = spine[-1] + arc(half_widths[-1], end_deg + 90, end_deg - 90, 13)
    foot = spine[0] + arc(half_widths[0], start_deg - 90, start_deg - 270, 12)
    return np.vstack([left, cap, right[::-1], foot])


def cam_outline(lobes: int, flat_mm: float, lobe_mm: float) -> Points:
    """A cam ground with flats at one radius out of a round of another; one lobe is a single rise.

    Parameters
    ----------
    lobes : int
        1 or more.
    flat_mm, lobe_mm : float
        Radius of the flats and of the lobes' tips.
    """
    angles = np.linspace(0.0, 2 * math.pi, 24 * max(lobes, 4) + 1)
    sector = 2 * math.pi / lobes
    off = (angles + sector / 2) % sector - sector / 2  # from the middle of the nearest flat
    with np.errstate(divide="ignore"):
        flat = np.where(np.abs(off) < 1.5, flat_mm / np.cos(np.clip(off, -1.5, 1.5)), np.inf)
    radius = np.minimum(flat, lobe_mm)
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])


def coil(start: Points, end: Points, body_mm: float, turns: int, half_width_mm: float) -> Points:
    """A spring seen from the side: hook, coils, hook; the coils share the given body length.

    The body lies in the middle between start and end; what is left over is straight hook.
    """
    start, end = np.asarray(start, float), np.asarray(end, float)
    whole = float(np.hypot(*(end - start))) or 1e-6
    body = min(max(body_mm, 0.0), whole)
    lead = (whole - body) / 2
    t = np.linspace(0.0, 1.0, 2 * turns + 1)[1:-1]
    side = np.where(np.arange(len(t)) % 2, -1.0, 1.0) * half_width_mm
    along = np.concatenate([[0.0, lead], lead + body * t, [whole - lead, whole]])
    off = np.concatenate([[0.0, 0.0], side, [0.0, 0.0]])
    unit = (end - start) / whole
    normal = np.array([-unit[1], unit[0]])
    return start + np.outer(along, unit) + np.outer(off, normal)


def spring_shape(
    post: Points, peg: Points, free_mm: float, slack_mm: float, half_width_mm: float
) -> tuple[Points, Points]:
    """Coils and loop of a spring between post and peg as drawn: (polyline, loop outline), in mm.

    The loop sits at the peg. It is as long as the slack, so while the spring is not taken up the
    peg is seen inside it with room beyond; taken up, the loop's end lies on the peg.
    """
    post, peg = np.asarray(post, float), np.asarray(peg, float)
    span = float(np.hypot(*(peg - post))) or 1e-6
    unit = (peg - post) / span
    loop = max(slack_mm, 0.0)
    reach = max(span, free_mm + loop)  # where the end of the loop is
    if span < free_mm:  # looser than its slack: the whole spring lies idle past the peg
        reach = span + loop
    loop_end = post + unit * reach
    loop_start = post + unit * max(reach - loop, 0.15 * span)
    turns = max(6, min(13, round(free_mm / 2)))
    body = 0.72 * float(np.hypot(*(loop_start - post)))
    return (
        coil(post, loop_start, body, turns, half_width_mm),
        stadium(loop_start, loop_end, 0.42 * half_width_mm + 0.5),
    )


def spring_half_width(free_mm: float) -> float:
    """Half the drawn width of the coils, in mm."""
    return min(max(0.11 * free_mm, 1.1), 2.6)


def freest_direction(taken_deg: list[float]) -> float:
    """The direction, in degrees, that lies furthest from all those taken (90 if none is)."""
    if not taken_deg:
        return 90.0
    tries = np.arange(0.0, 360.0, 5.0)
    gaps = np.abs((tries[:, None] - np.asarray(taken_deg)[None, :] + 180) % 360 - 180)
    nearest = gaps.min(axis=1) - 1e-3 * np.abs((tries - 90 + 180) % 360 - 180)
    return float(tries[int(np.argmax(nearest))])


def scale_bar_mm(width_mm: float) -> float:
    """A round length of about a third of the drawing's width, in mm."""
    return round_below(width_mm / 3)


def snapped(value: float, step: float) -> float:
    """A value at the nearest multiple of a step, without binary dust."""
    return round(round(value / step) * step, 9)
