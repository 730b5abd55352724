"""Outlines of the drawn parts: plain geometry in millimetres, no Qt.

All outlines are (N, 2) arrays of x, y with y up. Nothing here enters a calculation of the curve:
the shapes are plausible drawings around the points that the mechanism gives.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]

STEEL_G_PER_MM3 = 0.00785
HOOK_MM = 1.75
"""Middle of the wire from the middle of the post, where nobody measured the hook."""
LEAST_LOOP_MM = 0.05
USUAL_WIRE_MM = 0.8
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
    moved: Points = np.asarray(points) @ np.array([[c, s], [-s, c]])
    return moved if shift is None else moved + shift


def arc(radius_mm: float, from_deg: float, to_deg: float, count: int = 24) -> Points:
    """An arc about the origin."""
    angles = np.radians(np.linspace(from_deg, to_deg, count))
    return radius_mm * np.column_stack([np.cos(angles), np.sin(angles)])


def stadium(start: Points, end: Points, half_width_mm: float) -> Points:
    """A bar with round ends from one point to another."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = math.degrees(math.atan2(*(end - start)[::-1]))
    end_round = turned(half_width_mm * _half_round(), along)
    return np.vstack([end + end_round, start - end_round])


@lru_cache(maxsize=1)
def _half_round() -> Points:
    return arc(1.0, -90.0, 90.0, 33)


def weight_outline(pivot_xy: Points, cg_xy: Points, mass_g: float | None) -> Points:
    """A rounded body that holds pivot and centre of gravity, curved round the shaft, in mm.

    Its centroid is the centre of gravity, and its area is that of a steel plate of
    ``PLATE_MM`` with the weight's mass, within what still looks like a weight.
    """
    pivot, cg = np.asarray(pivot_xy, float), np.asarray(cg_xy, float)
    arm = cg - pivot
    reach = float(np.hypot(*arm)) or 1.0
    area = (mass_g or 25.0) / (STEEL_G_PER_MM3 * PLATE_MM)
    length = 2.0 * reach
    half = (-length + math.sqrt(length**2 + math.pi * area)) / math.pi  # of a stadium's area
    across = np.array([-arm[1], arm[0]]) / reach
    if np.dot(across, cg) < 0:
        across = -across
    t = np.linspace(0.0, 1.0, 41)
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
    """The outline of a disc of changing size drawn along a spine: what all the discs touch."""
    along = np.gradient(spine, axis=0)
    steps = np.hypot(along[:, 0], along[:, 1])
    tangent = along / steps[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    # A disc that grows on its way touches its envelope behind its middle.
    behind = np.clip(np.gradient(half_widths) / steps, -0.9, 0.9)
    back = -tangent * (half_widths * behind)[:, None]
    aside = normal * (half_widths * np.sqrt(1.0 - behind**2))[:, None]
    end_deg = math.degrees(math.atan2(tangent[-1, 1], tangent[-1, 0]))
    start_deg = math.degrees(math.atan2(tangent[0, 1], tangent[0, 0]))
    tilt = np.degrees(np.arcsin(behind))
    cap = spine[-1] + arc(half_widths[-1], end_deg + 90 + tilt[-1], end_deg - 90 - tilt[-1], 41)
    foot = spine[0] + arc(half_widths[0], start_deg - 90 - tilt[0], start_deg - 270 + tilt[0], 41)
    return np.vstack([spine + back + aside, cap, (spine + back - aside)[::-1], foot])


def cam_outline(lobes: int, flat_mm: float, lobe_mm: float) -> Points:
    """A cam ground with flats at one radius out of a round of another; one lobe is a single rise.

    Parameters
    ----------
    lobes : int
        1 or more.
    flat_mm, lobe_mm : float
        Radius of the flats and of the lobes' tips.
    """
    angles = np.linspace(0.0, 2 * math.pi, 96 * max(lobes, 4) + 1)
    sector = 2 * math.pi / lobes
    off = (angles + sector / 2) % sector - sector / 2  # from the middle of the nearest flat
    with np.errstate(divide="ignore"):
        flat = np.where(np.abs(off) < 1.5, flat_mm / np.cos(np.clip(off, -1.5, 1.5)), np.inf)
    radius = np.minimum(flat, lobe_mm)
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])


def coil(start: Points, end: Points, turns: float, half_width_mm: float, hooks: tuple[bool, bool],
         body_mm: float) -> Points:  # fmt: skip
    """A spring seen from the side: hook round the start, coils, hook round the end.

    Parameters
    ----------
    turns : float
        Coils of the body.
    hooks : (bool, bool)
        Whether there is a hook at the start and at the end.
    body_mm : float
        Length of the body; as much as there is room for at most.
    """
    start, end = np.asarray(start, float), np.asarray(end, float)
    whole = float(np.hypot(*(end - start))) or 1e-6
    hook = min(HOOK_MM, 0.16 * whole)
    body = min(max(body_mm, 0.0), whole - 3.2 * hook if all(hooks) else whole - 1.6 * hook)
    lead = 0.5 * (whole - body)
    t = np.linspace(0.0, 1.0, round(turns * 16) + 1)
    wave = half_width_mm * np.cos(2.0 * math.pi * turns * t + 0.5 * math.pi)
    wave *= np.clip(
        np.minimum(t, 1.0 - t) * 4.0 * turns, 0.0, 1.0
    )  # the end coils come to the axis
    along, off = [lead + body * t], [wave]
    around = np.radians(np.linspace(300.0, 60.0, 19))
    if hooks[0]:
        along.insert(0, hook * np.cos(around[::-1]))
        off.insert(0, hook * np.sin(around[::-1]))
    else:
        along.insert(0, np.zeros(1))
        off.insert(0, np.zeros(1))
    if hooks[1]:
        along.append(whole - hook * np.cos(around[::-1]))
        off.append(-hook * np.sin(around[::-1]))
    else:
        along.append(np.array([whole]))
        off.append(np.zeros(1))
    unit = (end - start) / whole
    normal = np.array([-unit[1], unit[0]])
    return start + np.outer(np.concatenate(along), unit) + np.outer(np.concatenate(off), normal)


def spring_shape(
    post: Points, peg: Points, free_mm: float, slack_mm: float, half_width_mm: float,
    turns: float | None = None, wire_mm: float = USUAL_WIRE_MM,
) -> tuple[Points, Points]:  # fmt: skip
    """Coils and loop of a spring between post and peg as drawn: (polyline, loop outline), in mm.

    The loop sits at the peg. It is as long as the slack, so while the spring is not taken up the
    peg is seen inside it with room beyond; taken up, the loop's end lies on the peg. Without a loop
    a hook holds the peg.
    """
    post, peg = np.asarray(post, float), np.asarray(peg, float)
    span = float(np.hypot(*(peg - post))) or 1e-6
    unit = (peg - post) / span
    loop = max(slack_mm, 0.0)
    reach = max(span, free_mm + loop)  # where the end of the loop is
    if span < free_mm:  # looser than its slack: the whole spring lies idle past the peg
        reach = span + loop
    looped = loop > LEAST_LOOP_MM
    loop_end = post + unit * reach
    loop_start = post + unit * max(reach - loop, 0.15 * span) if looped else loop_end
    count = turns if turns else usual_turns(free_mm, wire_mm)
    stretched = max(reach - loop - free_mm, 0.0)
    body = count * wire_mm * 1.15 + stretched if turns else 0.66 * (reach - loop)
    return (
        coil(post, loop_start, count, half_width_mm, (True, not looped), body),
        stadium(loop_start, loop_end, 0.42 * half_width_mm + 0.5),
    )


def usual_turns(free_mm: float, wire_mm: float) -> float:
    """Coils that a spring of this length usually has, drawn a little open."""
    return float(max(5, min(14, round(0.3 * free_mm / max(wire_mm, 0.5)))))


def spring_half_width(free_mm: float) -> float:
    """Half the drawn width of the coils, in mm."""
    return min(max(0.11 * free_mm, 1.1), 2.6)


def freest_direction(taken_deg: list[float]) -> float:
    """The direction, in degrees, that lies furthest from all those taken (90 if none is)."""
    if not taken_deg:
        return 90.0
    tries = np.arange(0.0, 360.0, 5.0)
    ring = np.sort(np.mod(taken_deg, 360.0))
    ring = np.concatenate([ring[-1:] - 360.0, ring, ring[:1] + 360.0])
    after = np.searchsorted(ring, tries)
    gaps = np.minimum(ring[after] - tries, tries - ring[after - 1])
    nearest = gaps - 1e-3 * np.abs((tries - 90 + 180) % 360 - 180)
    return float(tries[int(np.argmax(nearest))])
