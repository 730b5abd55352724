"""A tolerance run against the bare arithmetic: ``python -m tests.studies.tolerance_speed``.

The bare arithmetic is the same formulas for one kind of mechanism (pin in a slot, two springs on
the cam foot) written out in numpy without a class: weights, springs, balance, running maximum and
minimum, advance at the same speeds, the same quantiles, on as many knots. Both take the same drawn
values and are run in turn; the ratio of the best times counts.
"""

from __future__ import annotations

import time

import numpy as np

from bobweight.core.design.goal import goal_of
from bobweight.core.design.spread import drawn, mechanism_spread
from bobweight.core.design.tolerance import influence, tolerance
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.record import get
from tests.samples import sample
from tests.studies.ratio import Ratio, turn_about
from tests.studies.results import section, table

KNOTS = 40


def bare(mechanism: Mechanism, values: dict, speeds: np.ndarray, builds: int) -> list[np.ndarray]:
    """Quantiles of the rising and falling curves at the speeds."""

    def value(*path):
        found = values.get(path)
        return get(mechanism, path) if found is None else found[:, None]

    stop = np.radians(value("stop_deg"))
    theta = stop * np.linspace(0, 1, KNOTS)
    theta = np.broadcast_to(theta, (builds, KNOTS))
    big_r, pin = value("weights", "pivot_radius_mm"), value("linkage", "pin_radius_mm")
    alpha = np.radians(value("weights", "rest_angle_deg"))
    turn_0 = alpha + np.radians(value("linkage", "pin_angle_deg"))
    x, y = big_r + pin * np.cos(turn_0), pin * np.sin(turn_0)
    psi_0 = np.arctan2(y, x)
    sign = np.where(pin * (pin + big_r * np.cos(turn_0)) > 0, -1.0, 1.0)
    branch = np.where(np.hypot(x, y) >= big_r * np.cos(psi_0), 1.0, -1.0)
    psi = psi_0 + sign * theta
    sine, cosine = np.sin(psi), np.cos(psi)
    half = np.sqrt(pin**2 - (big_r * sine) ** 2)
    rho = big_r * cosine + branch * half
    phi = turn_0 - np.arctan2(rho * sine, rho * cosine - big_r)
    phi = phi - 2 * np.pi * np.round(phi / (2 * np.pi))
    slope = -sign * rho * branch / half
    scale = 2 * mechanism.weights.count * value("weights", "mass_g") * big_r
    pull = scale * value("weights", "cg_mm") * np.sin(alpha - phi) * slope * 1e-6
    torque = np.zeros((builds, KNOTS)) + value("heel_drag_nmm")
    for i, spring in enumerate(mechanism.springs):
        post = value("springs", i, "post_radius_mm")
        angle = np.radians(value("springs", i, "post_angle_deg"))
        if spring.tang_way == "outward":
            post = post + spring.tang_mm
        else:
            angle = angle + spring.tang_mm / post
        peg = value("springs", i, "peg_radius_mm")
        at = np.radians(value("springs", i, "peg_angle_deg")) - angle + theta
        length = np.sqrt(post**2 + peg**2 - 2 * post * peg * np.cos(at))
        free = value("springs", i, "free_length_mm") + value("springs", i, "slack_mm")
        rate = value("springs", i, "rate_n_per_mm")
        force = value("springs", i, "initial_tension_n") + rate * (length - free)
        lever = post * peg * np.sin(at) / length
        torque = torque + np.where(length > free, force * lever, 0.0)
    stick, grip = value("stick_nmm"), value("grip")
    rpm = 30 / np.pi
    rising = np.sqrt(np.maximum(2 * (torque + stick) / (pull * (1 - grip)), 0.0)) * rpm
    falling = np.sqrt(np.maximum(2 * (torque - stick) / (pull * (1 + grip)), 0.0)) * rpm
    rising = np.maximum.accumulate(rising, axis=1)
    falling = np.minimum.accumulate(falling[:, ::-1], axis=1)[:, ::-1]
    degrees, rows, result = np.degrees(theta), np.arange(builds), []
    for branch, reached in ((rising, np.less_equal), (falling, np.less)):
        advance = np.empty((builds, len(speeds)))
        for column, speed in enumerate(speeds):
            below = reached(branch, speed).sum(axis=1) - 1
            last, after = np.clip(below, 0, KNOTS - 1), np.clip(below + 1, 0, KNOTS - 1)
            low, high = branch[rows, last], branch[rows, after]
            share = np.where(high > low, (speed - low) / np.where(high > low, high - low, 1), 0.0)
            here = degrees[rows, last] + share * (degrees[rows, after] - degrees[rows, last])
            advance[:, column] = np.where(below < 0, 0.0, here)
        result.append(np.quantile(advance, [0.025, 0.5, 0.975], axis=0))
    return result


def best(function, times: int = 7) -> float:
    """The least processor time of a few runs in seconds."""
    found = []
    for _ in range(times):
        start = time.process_time()
        function()
        found.append(time.process_time() - start)
    return min(found)


def tolerance_against_bare(builds: int = 10_000) -> Ratio:
    """A run of 10,000 builds over the bare arithmetic."""
    mechanism = sample("small_four").mechanism
    spread = mechanism_spread(mechanism)
    speeds, values = np.linspace(0.0, 2000.0, 48), drawn(spread, builds)
    ours, plain = turn_about(
        lambda: tolerance(mechanism, None, spread, speeds, builds),
        lambda: bare(mechanism, values, speeds, builds),
        rounds=7,
    )
    note = f"{1e3 * ours:.0f} ms against {1e3 * plain:.0f} ms"
    return Ratio("Tolerance run of 10,000 builds / bare numpy", ours / plain, 2.0, False, note)


BENCHMARKS = (tolerance_against_bare,)


def main() -> None:
    docket = sample("small_four")
    mechanism, goal = docket.mechanism, goal_of(docket)
    spread = mechanism_spread(mechanism)
    speeds = np.linspace(0.0, 2000.0, 48)
    rows = []
    for builds in (1024, 10_000):
        values = drawn(spread, builds)
        ours = tolerance(mechanism, None, spread, speeds, builds)
        plain = bare(mechanism, values, speeds, builds)
        off = max(
            np.abs(getattr(band, key) - row).max()
            for band, rows in zip(ours.bands, plain, strict=True)
            for key, row in zip(("low_deg", "middle_deg", "high_deg"), rows, strict=True)
        )
        a = best(lambda b=builds: tolerance(mechanism, None, spread, speeds, b))
        c = best(lambda b=builds, v=values: bare(mechanism, v, speeds, b))
        rows.append([builds, f"{1e3 * a:.1f}", f"{1e3 * c:.1f}", f"{a / c:.2f}", f"{off:.3f}°"])
    live = best(lambda: tolerance(mechanism, goal))
    sobol = best(lambda: influence(mechanism, goal, spread), 3)
    with section("tolerance-speed", "Tolerance run, processor time") as out:
        out(
            table(
                ["builds", "run, ms", "bare arithmetic, ms", "ratio", "bands apart at most"], rows
            )
        )
        out(f"\n1024 builds with a goal: {1e3 * live:.1f} ms. Sobol indices, 256 samples, "
            f"{len(spread)} values: {1e3 * sobol:.0f} ms.")  # fmt: skip


if __name__ == "__main__":
    main()
