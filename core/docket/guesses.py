"""What can be guessed of typed figures: the way the speed was going, and a table in another frame.

A guess is shown and can be overruled; nothing is altered by it.
"""

from __future__ import annotations

from collections.abc import Sequence

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.target import CheckPoint, VacuumPoint
from bobweight.core.problems import Path, Problem

_NOISE_RPM = 25.0  # a change of less is taken for a repeat at the same speed


def guess_directions(speeds_rpm: Sequence[float | None]) -> list[str]:
    """The direction of each reading, from the trend of the speeds in the order they were taken.

    Parameters
    ----------
    speeds_rpm : sequence of float or None
        Shown speeds; None where not known.

    Returns
    -------
    list of str
        ``rising``, ``falling`` or ``unknown`` (no speed, or none differs from the others).
    """
    found = ["unknown"] * len(speeds_rpm)
    known = [(row, speed) for row, speed in enumerate(speeds_rpm) if speed is not None]
    if not known:
        return found
    trend, furthest = _first_trend([speed for _, speed in known])
    if trend == 0:
        return found
    for row, speed in known:
        if trend * (speed - furthest) > 0:
            furthest = speed
        elif trend * (furthest - speed) > _NOISE_RPM:
            trend, furthest = -trend, speed
        found[row] = "rising" if trend > 0 else "falling"
    return found


def _first_trend(speeds: list[float]) -> tuple[int, float]:
    """+1 or -1 by the first change that is more than noise (0 without one), and where from."""
    low = high = speeds[0]
    for speed in speeds:
        if speed - low > _NOISE_RPM:
            return 1, low
        if high - speed > _NOISE_RPM:
            return -1, high
        low, high = min(low, speed), max(high, speed)
    return 0, speeds[0]


def frame_advice(docket: Docket) -> list[Problem]:
    """Advice (not grave) where a table of the target looks typed in another frame than it says.

    The largest figure of the table is set against what the mechanism (the capsule) can do at
    most: about ``drive_ratio`` times too much points to crank figures that are said to be
    distributor figures, about as many times too little to the contrary. Common practice.
    """
    target, ratio = docket.target, docket.particulars.ratio_taken
    stop = docket.mechanism.stop_deg
    most = stop if stop is not None else docket.particulars.stamped_maximum_deg
    static = docket.setting_up.static_deg
    found = [
        _advice(
            ("target", "frame"), target.frame_taken, _largest(target.points), most, ratio, static,
        ),
        _advice(
            ("target", "vacuum_frame"), target.vacuum_frame_taken, _largest(target.vacuum_points),
            _capsule_full(docket), ratio, None,
        ),
    ]  # fmt: skip
    return [problem for problem in found if problem]


def _capsule_full(docket: Docket) -> float | None:
    """Most that any of the capsules moves the plate."""
    full = (capsule.full_deg for capsule in docket.capsules)
    return max((deg for deg in full if deg is not None), default=None)


def _largest(points: Sequence[CheckPoint | VacuumPoint]) -> float | None:
    """The largest middle of a table's bands."""
    middles = [
        abs(point.least_deg + point.most_deg) / 2
        for point in points
        if point.least_deg is not None and point.most_deg is not None
    ]
    return max(middles, default=None)


def _advice(
    path: Path, frame: str, largest: float | None, most: float | None, ratio: float,
    static: float | None,
) -> Problem | None:  # fmt: skip
    if largest is None or most is None or most <= 0 or ratio < 1.2:
        return None  # driven at crank speed the frames hardly differ
    expected = {"distributor": most, "crank": ratio * most}
    if static is not None:
        expected["crank-static"] = ratio * most + static
    likely = min(expected, key=lambda name: abs(largest - expected[name]))
    turned = {"distributor": 1.0}
    if turned.get(likely, ratio) == turned.get(frame, ratio):
        return None  # with or without static is told by no table
    if abs(largest - expected[likely]) > 0.25 * expected[likely]:
        return None  # like neither
    facts = {"value": largest, "most_deg": most, "frame": frame, "likely": likely, "unit": "°"}
    return Problem("looks-like-other-frame", path, facts, grave=False)
