"""The curve's kernel: one curve against a root finder, many builds against bare numpy."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from bobweight.core.docket.mechanism import Linkage
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from tests.mechanics.independent import Vectors
from tests.mechanics.mechanisms import plain
from tests.studies.ratio import Ratio, of_ratios, turn_about
from tests.studies.results import section

BUILDS, KNOTS = 10_000, 200

PINNED = plain(linkage=Linkage(kind="slot", pin_radius_mm=12.0, pin_angle_deg=80.0))
DRY = PINNED.with_changes(stick_nmm=2.0, grip=0.03)


def one_curve() -> Ratio:
    """200 knots of the rising and the falling curve, and the root finder for as many speeds.

    The root finder is ``scipy.optimize.brentq`` in θ, bracket rest to stop, on the speed that the
    core's own balance gives for one angle. Besides, for what it is worth, on the tests' vector
    route, which is written in plain Python numbers for single states and has no arrays to set up.
    """
    balance, builds = Balance(Builds(DRY)), Builds(DRY)
    vectors = Vectors(DRY)
    both = curves(balance_speeds(builds, KNOTS))
    speeds = np.linspace(1.01 * both.rising_rpm[0, 0], 0.99 * both.falling_rpm[0, -1], KNOTS)
    stop = float(balance.stop_rad)

    def explicit():
        return curves(balance_speeds(builds, KNOTS))

    def off_balance(theta: float, branch: int, square: float) -> float:
        point = np.array([[[theta]]])
        return balance.speed_squared(point, balance.engaged_at(point))[branch][0, 0, 0] - square

    def rooted():
        return [
            brentq(off_balance, 0.0, stop, args=(branch, (speed / RPM_PER_RAD_S) ** 2), xtol=1e-9)
            for branch in (0, 1)
            for speed in speeds
        ]

    def rooted_vectors():
        return [
            vectors.advance_by_root_deg(speed, sense) for sense in (1.0, -1.0) for speed in speeds
        ]

    ours = np.concatenate([both.at(speeds, way)[0] for way in ("rising", "falling")])
    for theirs in (np.degrees(rooted()), rooted_vectors()):
        assert np.max(np.abs(ours - theirs)) < 2e-3  # the same job; knots apart by a straight line
    fast, slow = turn_about(explicit, rooted, rounds=7, times=(50, 1))
    _, vector = turn_about(explicit, rooted_vectors, rounds=7, times=(50, 1))
    note = (
        f"core {fast * 1e3:.3f} ms; brentq per speed on the core's formula {slow * 1e3:.0f} ms, on "
        f"the vector route in plain Python numbers {vector * 1e3:.0f} ms ({vector / fast:.0f} ×)"
    )
    return Ratio("One 200-knot curve, root finder / core", slow / fast, 1000.0, True, note)


def many_builds() -> Ratio:
    """Speeds and both branches of 10,000 builds, and the same arithmetic in whole arrays."""
    rng = np.random.default_rng(20)
    varied = {
        path: value * rng.uniform(0.97, 1.03, BUILDS)
        for path, value in {
            ("weights", "mass_g"): 28.0,
            ("springs", 0, "rate_n_per_mm"): 0.9,
            ("springs", 1, "rate_n_per_mm"): 6.0,
            ("springs", 0, "free_length_mm"): 15.0,
            ("springs", 1, "free_length_mm"): 15.2,
            ("springs", 1, "slack_mm"): 1.3,
            ("stick_nmm",): 2.0,
            ("grip",): 0.03,
        }.items()
    }

    def core():
        return curves(balance_speeds(Builds(PINNED, varied), KNOTS))

    def bare():
        return _bare(PINNED, {path: values[:, None] for path, values in varied.items()})

    ours, theirs = core(), bare()
    for mine, other in zip((ours.rising_rpm, ours.falling_rpm), theirs[1:], strict=True):
        assert np.allclose(mine[:, [0, -1]], other[:, [0, -1]], rtol=1e-9)
    fast, plain_time = turn_about(core, bare, rounds=9)
    note = f"core {fast * 1e3:.0f} ms, bare numpy {plain_time * 1e3:.0f} ms"
    return Ratio(
        "10,000 builds × 200 knots, core / bare numpy", fast / plain_time, 1.5, False, note
    )


def _bare(m, v):
    """The formula for a pin in a slot and two springs on the cam, whole arrays, nothing shared."""
    w, link = m.weights, m.linkage
    pivot, pin = w.pivot_radius_mm, link.pin_radius_mm
    stop = np.radians(m.stop_deg)
    theta = np.broadcast_to(np.linspace(0.0, stop, KNOTS), (BUILDS, KNOTS))
    alpha_0 = np.radians(w.rest_angle_deg)
    turn_0 = alpha_0 + np.radians(link.pin_angle_deg)
    psi_0 = np.arctan2(pin * np.sin(turn_0), pivot + pin * np.cos(turn_0))
    outward = pin + pivot * np.cos(turn_0)
    sign, branch = (-1.0, 1.0) if outward > 0 else (1.0, -1.0)
    psi = psi_0 + sign * theta
    half = np.sqrt(pin**2 - (pivot * np.sin(psi)) ** 2)
    rho = pivot * np.cos(psi) + branch * half
    turn = np.arctan2(rho * np.sin(psi), rho * np.cos(psi) - pivot)
    phi = turn_0 - turn
    slope = -sign * branch * rho / half
    torque = m.heel_drag_taken_nmm
    for i, s in enumerate(m.springs):
        rate = v[("springs", i, "rate_n_per_mm")]
        free = v[("springs", i, "free_length_mm")]
        slack = v.get(("springs", i, "slack_mm"), s.slack_taken_mm)
        x = np.radians(s.peg_angle_deg - s.post_angle_deg) + theta
        length = np.sqrt(
            s.post_radius_mm**2
            + s.peg_radius_mm**2
            - 2 * s.post_radius_mm * s.peg_radius_mm * np.cos(x)
        )
        stretch = length - free - slack
        force = np.where(stretch > 0, s.tension_taken_n + rate * stretch, 0.0)
        torque = torque + force * s.post_radius_mm * s.peg_radius_mm * np.sin(x) / length
    pull = 2e-6 * w.count * v[("weights", "mass_g")] * pivot * w.cg_mm
    pull = pull * np.sin(alpha_0 - phi) * slope
    stick, grip = v[("stick_nmm",)], v[("grip",)]
    rising = np.sqrt(np.maximum(2 * (torque + stick) / (pull * (1 - grip)), 0.0)) * (30 / np.pi)
    falling = np.sqrt(np.maximum(2 * (torque - stick) / (pull * (1 + grip)), 0.0)) * (30 / np.pi)
    return (
        np.degrees(theta),
        np.maximum.accumulate(rising, axis=1),
        np.minimum.accumulate(falling[:, ::-1], axis=1)[:, ::-1],
    )


BENCHMARKS = (one_curve, many_builds)

if __name__ == "__main__":
    with section("kernel", "The kernel") as out:
        out(of_ratios(BENCHMARKS))
