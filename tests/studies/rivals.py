"""The kernel, the fit and the tray search against rivals at their best: vectorised, with geometry
shared, given our own batched slopes. Processor time of this process, the least of several rounds
taken turn about, so that other work on the machine does not count.

python -m tests.studies.rivals
"""

from __future__ import annotations

import cProfile
import pstats
from collections.abc import Callable
from io import StringIO
from time import process_time

import numpy as np
import scipy.optimize
from scipy.optimize import differential_evolution, elementwise

from bobweight.core.design.search import Search
from bobweight.core.mechanics.balance import RPM_PER_RAD_S, balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.statistics.least_squares import difference_jacobian
from tests.design.trays import tray_near
from tests.samples import sample
from tests.studies import fit_speed, kernel
from tests.studies.ratio import Ratio
from tests.studies.results import section, table

DRY, PINNED, KNOTS, BUILDS = kernel.DRY, kernel.PINNED, kernel.KNOTS, kernel.BUILDS


def clocked(
    a: Callable[[], object], b: Callable[[], object], rounds: int, times: tuple[int, int] = (1, 1)
) -> tuple[float, float]:
    """Least processor time of a call of either, turn about."""
    best = [np.inf, np.inf]
    a(), b()
    for _ in range(rounds):
        for which, (job, often) in enumerate(zip((a, b), times, strict=True)):
            start = process_time()
            for _ in range(often):
                job()
            best[which] = min(best[which], (process_time() - start) / often)
    return best[0], best[1]


class OneUnit:
    """A unit with a pin in a slot and two springs on the cam, as vectors, written for numpy: places
    of pin, post and peg as complex numbers, forces by projection. The rival's best effort."""

    def __init__(self, m) -> None:
        w, link = m.weights, m.linkage
        self.m, self.stop = m, np.radians(m.stop_deg)
        self.pivot, self.pin = w.pivot_radius_mm, link.pin_radius_mm
        self.alpha = np.radians(w.rest_angle_deg)
        self.turn_0 = self.alpha + np.radians(link.pin_angle_deg)
        rest = self.pivot + self.pin * np.exp(1j * self.turn_0)
        self.psi_0 = np.angle(rest)
        outward = self.pin + self.pivot * np.cos(self.turn_0)
        self.way, self.side = (-1.0, 1.0) if outward > 0 else (1.0, -1.0)
        self.pull = 2e-6 * w.count * w.mass_g * self.pivot * w.cg_mm
        self.springs = [
            (
                s.post_radius_mm * np.exp(1j * np.radians(s.post_angle_deg)),
                s.peg_radius_mm * np.exp(1j * np.radians(s.peg_angle_deg)),
                s.rate_n_per_mm,
                s.tension_taken_n,
                s.free_length_mm + s.slack_taken_mm,
            )
            for s in m.springs
        ]

    def torque_and_pull(self, theta: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Springs' torque with drag, and what half the square of the speed is multiplied by."""
        psi = self.psi_0 + self.way * theta
        half = np.sqrt(self.pin**2 - (self.pivot * np.sin(psi)) ** 2)
        rho = self.pivot * np.cos(psi) + self.side * half
        phi = self.turn_0 - np.angle(rho * np.exp(1j * psi) - self.pivot)
        slope = -self.way * self.side * rho / half
        torque = np.full(np.shape(theta), float(self.m.heel_drag_taken_nmm))
        ahead = np.exp(1j * theta)
        for post, peg_0, rate, tension, taken in self.springs:
            peg = peg_0 * ahead
            along = peg - post
            length = np.abs(along)
            force = np.where(length > taken, tension + rate * (length - taken), 0.0)
            torque -= force * np.imag(along.conj() * peg) / length  # moment of the pull
        return torque, self.pull * np.sin(self.alpha - phi) * slope

    def excess(self, theta: np.ndarray, square: np.ndarray, sense: np.ndarray) -> np.ndarray:
        """Torque that is lacking at a speed: its root is the advance."""
        torque, pull = self.torque_and_pull(theta)
        held = 0.5 * square * pull * (1.0 - sense * self.m.grip_taken)
        return torque + sense * self.m.stick_taken_nmm - held

    def bisected(self, speed_rpm: np.ndarray, sense: np.ndarray) -> np.ndarray:
        """Advance in degrees at speeds by bisection of all together, to 1e-9 of the range."""
        square = (speed_rpm / RPM_PER_RAD_S) ** 2
        low, high = np.zeros(len(speed_rpm)), np.full(len(speed_rpm), self.stop)
        for _ in range(30):
            middle = 0.5 * (low + high)
            over = self.excess(middle, square, sense) > 0
            high, low = np.where(over, middle, high), np.where(over, low, middle)
        return np.degrees(0.5 * (low + high))

    def rooted(self, speed_rpm: np.ndarray, sense: np.ndarray) -> np.ndarray:
        """The same by scipy's vectorised root finder."""
        square = (speed_rpm / RPM_PER_RAD_S) ** 2
        ends = (np.zeros(len(speed_rpm)), np.full(len(speed_rpm), self.stop))
        found = elementwise.find_root(
            self.excess, ends, args=(square, sense), tolerances={"xatol": 1e-9}
        )
        return np.degrees(found.x)

    def interpolated(self, speed_rpm: np.ndarray) -> np.ndarray:
        """Both branches as bare numpy does it: speed at even angles, read backwards."""
        theta = np.linspace(0.0, self.stop, KNOTS)
        torque, pull = self.torque_and_pull(theta)
        both = []
        for sense in (1.0, -1.0):
            held = 0.5 * pull * (1.0 - sense * self.m.grip_taken)
            rpm = RPM_PER_RAD_S * np.sqrt(
                np.maximum((torque + sense * self.m.stick_taken_nmm) / held, 0)
            )
            both.append(np.interp(speed_rpm, np.maximum.accumulate(rpm), np.degrees(theta)))
        return np.concatenate(both)


def one_curve() -> list[Ratio]:
    """(a) Both branches of one curve, read at 200 speeds."""
    known = curves(balance_speeds(Builds(DRY), KNOTS))
    speeds = np.linspace(1.01 * known.rising_rpm[0, 0], 0.99 * known.falling_rpm[0, -1], KNOTS)
    twice, sense = np.tile(speeds, 2), np.repeat([1.0, -1.0], KNOTS)

    def ours() -> np.ndarray:
        found = curves(balance_speeds(Builds(DRY), KNOTS))
        return np.concatenate([found.at(speeds, way)[0] for way in ("rising", "falling")])

    def knots_only() -> object:
        return curves(balance_speeds(Builds(DRY), KNOTS))

    rivals = (
        ("vectorised bisection / core (knots)", lambda: OneUnit(DRY).bisected(twice, sense), 40.0),
        ("elementwise.find_root / core (knots)", lambda: OneUnit(DRY).rooted(twice, sense), 100.0),
        ("bare numpy ω(θ) and interp / core (and read)", lambda: OneUnit(DRY).interpolated(speeds),
         1.0),
    )  # fmt: skip
    found = []
    for name, rival, goal in rivals:
        apart = np.abs(ours() - rival())
        assert np.median(apart) < 2e-3, name
        job = ours if goal == 1.0 else knots_only
        fast, slow = clocked(job, rival, 9, (50, 5))
        note = f"core {1e3 * fast:.3f} ms, rival {1e3 * slow:.3f} ms"
        note += f"; apart {np.median(apart):.0e}° at the median, {apart.max():.0e}° at most"
        found.append(Ratio(f"(a) {name}", slow / fast, goal, True, note))
    return found


def shared_geometry() -> Ratio:
    """(b) Builds that differ in rates, tension and slack, against numpy sharing the geometry."""
    rng = np.random.default_rng(20)
    base = {("springs", 0, "rate_n_per_mm"): 0.9, ("springs", 1, "rate_n_per_mm"): 6.0,
            ("springs", 0, "initial_tension_n"): 0.8, ("springs", 1, "initial_tension_n"): 0.5,
            ("springs", 1, "slack_mm"): 1.3}  # fmt: skip
    varied = {path: value * rng.uniform(0.97, 1.03, BUILDS) for path, value in base.items()}
    unit = OneUnit(DRY)

    def ours() -> object:
        return curves(balance_speeds(Builds(DRY, varied), KNOTS))

    def bare() -> tuple[np.ndarray, np.ndarray]:
        theta = np.linspace(0.0, unit.stop, KNOTS)
        _, pull = unit.torque_and_pull(theta)
        torque = np.full((BUILDS, KNOTS), float(DRY.heel_drag_taken_nmm))
        ahead = np.exp(1j * theta)
        for i, (post, peg_0, rate, tension, _) in enumerate(unit.springs):
            s = DRY.springs[i]
            peg = peg_0 * ahead
            along = peg - post
            length = np.abs(along)
            lever = -np.imag(along.conj() * peg) / length
            rate = varied[("springs", i, "rate_n_per_mm")][:, None]
            tension = varied[("springs", i, "initial_tension_n")][:, None]
            slack = varied.get(("springs", i, "slack_mm"), np.array([s.slack_taken_mm]))[:, None]
            stretch = length - (s.free_length_mm + slack)
            force = rate * stretch
            force += tension
            force *= stretch > 0
            force *= lever
            torque += force
        both = []
        for sense in (1.0, -1.0):
            square = torque + sense * DRY.stick_taken_nmm
            square *= 2.0 / (pull * (1.0 - sense * DRY.grip_taken))
            np.maximum(square, 0.0, out=square)
            np.sqrt(square, out=square)
            square *= RPM_PER_RAD_S
            both.append(square)
        return (np.maximum.accumulate(both[0], axis=1),
                np.minimum.accumulate(both[1][:, ::-1], axis=1)[:, ::-1])  # fmt: skip

    mine, theirs = ours(), bare()
    for one, other in zip((mine.rising_rpm, mine.falling_rpm), theirs, strict=True):
        assert np.allclose(one[:, [0, -1]], other[:, [0, -1]], rtol=1e-9)
    fast, slow = clocked(ours, bare, 7)
    note = f"core {1e3 * fast:.0f} ms, bare numpy {1e3 * slow:.0f} ms"
    return Ratio(
        "(b) 10,000 builds of one geometry, core / bare numpy", fast / slow, 1.3, False, note
    )


def own_geometry() -> Ratio:
    """(b) Builds that differ in geometry too."""
    ratio = kernel.many_builds()
    return Ratio("(b) 10,000 builds of different geometry, core / bare numpy", ratio.value, 1.3,
                 False, ratio.note + " (wall clock)")  # fmt: skip


def reading_curves() -> Ratio:
    """(c) Reading 1000 curves at 201 speeds, against numpy's interpolation row by row."""
    rng = np.random.default_rng(2)
    varied = {("springs", 0, "rate_n_per_mm"): 0.9 * rng.uniform(0.9, 1.1, 1000)}
    found = curves(balance_speeds(Builds(PINNED, varied), KNOTS))
    speeds = np.linspace(100.0, 3000.0, 201)

    def rows() -> np.ndarray:
        return np.array(
            [np.interp(speeds, found.rising_rpm[i], found.advance_deg[i]) for i in range(1000)]
        )

    assert np.abs(found.at(speeds) - rows()).max() < 0.05
    fast, slow = clocked(lambda: found.at(speeds), rows, 15)
    note = (
        f"core {1e3 * fast:.1f} ms, rows {1e3 * slow:.1f} ms (the core reads in squares of speed)"
    )
    return Ratio("(c) reading 1000 × 201, core / np.interp by rows", fast / slow, 1.3, False, note)


def fits() -> list[Ratio]:
    """(d) The fit against trf given our batched Jacobian, and lmfit as it is usually called."""
    times = []
    worse = 0.0
    for seed in range(4):
        _, objective, free = fit_speed.case(seed, False)
        low, high = objective.bounds

        def trf(objective=objective, free=free, low=low, high=high):
            def residuals(z):
                return objective.residuals(z[None])[0]

            def slopes(z):
                at = np.clip(z[None], low, high)
                return difference_jacobian(
                    objective.residuals, at, objective.residuals(at), low[None], high[None],
                    free[None], np.ones(objective.size), np.zeros(1, int),
                )[0]  # fmt: skip

            start = np.clip(np.zeros(objective.size), low + 1e-9, high - 1e-9)
            return scipy.optimize.least_squares(
                residuals, start, jac=slopes, bounds=(low - 1e-9, high), method="trf",
                xtol=1e-8, ftol=1e-8, gtol=1e-8, max_nfev=100,
            )  # fmt: skip

        cost = fit_speed.ours(objective, free)[1]
        worse = max(worse, cost - 2.0 * trf().cost)
        fast, slow = clocked(lambda o=objective, f=free: fit_speed.ours(o, f), trf, 5)
        _, usual = clocked(lambda: None, lambda o=objective, f=free: fit_speed.theirs(o, f), 1)
        times.append((fast, slow, usual))
    ours, theirs, lmfit = np.array(times).T
    both = f"core {1e3 * np.median(ours):.1f} ms, trf {1e3 * np.median(theirs):.1f} ms"
    note = (both + "; by session " + ", ".join(f"{r:.1f}" for r in theirs / ours)
            + f"; our cost is at most {worse:.0e} above")  # fmt: skip
    return [
        Ratio("(d) trf with our Jacobian / core", float(np.median(theirs / ours)), 2.0, True, note),
        Ratio("(d) lmfit as users call it / core", float(np.median(lmfit / ours)), 10.0, True,
              f"lmfit {1e3 * np.median(lmfit):.0f} ms"),
    ]  # fmt: skip


def tray(pairs: int = 60, by_optimiser: int = 6) -> Ratio:
    """(e) A pair tuned, against differential evolution given the batched kernel and our stop."""
    docket = sample("small_four")
    search = Search(docket, tray_near(docket.mechanism, 40, seed=23))
    chosen = np.random.default_rng(5).choice(len(search.pairs), pairs, replace=False)
    search.pairs = search.pairs[chosen]
    start = process_time()
    starts, _ = search.first_look(np.arange(len(search.pairs)), lambda *_: None, lambda: False)
    given = search.given(search.pairs)
    tuned = search.tuner.finished(given, *search.tuner.begun(given, starts))
    each = (process_time() - start) / pairs
    seconds, better = [], []
    for k in range(by_optimiser):
        given = search.given(search.pairs[k : k + 1])

        def shortfall(x: np.ndarray, given=given) -> np.ndarray:
            shares = np.atleast_2d(x.T)
            wide = {path: np.repeat(v, len(shares)) for path, v in given.items()}
            advance = search.tuner.advance_deg(wide, shares)
            return -search.tuner.best_stop(advance)[1]

        start = process_time()
        found = differential_evolution(
            shortfall, [(0.0, 1.0)] * len(search.tuner.knobs), popsize=14, maxiter=60, tol=1e-4,
            polish=False, rng=1, vectorized=True, updating="deferred",
        )  # fmt: skip
        seconds.append(process_time() - start)
        better.append(-float(found.fun) - tuned.margin_deg[k])
    note = (f"core {1e3 * each:.1f} ms a pair, optimiser {1e3 * np.mean(seconds):.0f} ms with the "
            f"batched kernel; it is at most {max(better):+.3f}° better")  # fmt: skip
    return Ratio("(e) batched optimiser / tray search, a pair", float(np.mean(seconds) / each), 1.0,
                 True, note)  # fmt: skip


def profile(job: Callable[[], object], times: int) -> str:
    """Where the time of a job goes, its six costliest functions."""
    run = cProfile.Profile()
    run.enable()
    for _ in range(times):
        job()
    run.disable()
    out = StringIO()
    pstats.Stats(run, stream=out).sort_stats("tottime").print_stats(10)
    lines = [line.split() for line in out.getvalue().splitlines() if line[:1] == " "]
    rows = [words for words in lines if len(words) >= 6 and words[1].replace(".", "").isdigit()]
    total = sum(float(words[1]) for words in rows) or 1.0
    return table(
        ["function", "calls a run", "share of the ten"],
        [[" ".join(w[5:]).rsplit("/", 1)[-1], f"{int(w[0].split('/')[0]) // times}",
          f"{100 * float(w[1]) / total:.0f} %"] for w in rows],
    )  # fmt: skip


_WHY = (
    "No function stands out: a numpy call on 200 values costs half a microsecond to two, whatever "
    "it does. The core makes about as many as the third rival, which has one fixed kind of linkage "
    "and spring and looks for no take-up; what depends on the mechanism alone it keeps."
)


def main() -> None:
    note = ("Every rival is written as well as numpy and scipy allow, and checked to give the same "
            "answer before it is timed.")  # fmt: skip
    with section("rivals", "Against rivals at their best, processor time", "fixed", note) as out:
        found = [*one_curve(), shared_geometry(), own_geometry(), reading_curves(), *fits(), tray()]
        out(table(
            ["what", "ratio", "goal", "", "note"],
            [[r.name, f"{r.value:.3g}", f"{'≥' if r.at_least else '≤'} {r.goal:g}",
              "met" if r.met else "NOT MET", r.note] for r in found],
        ))  # fmt: skip
        builds = Builds(DRY)
        out(f"\nWhere the time of one curve goes (profiled, 500 runs). {_WHY}\n")
        out(profile(lambda: curves(balance_speeds(builds, KNOTS)), 500))
        _, objective, free = fit_speed.case(0, False)
        out("\nWhere the time of a fit goes (profiled, 5 runs):\n")
        out(profile(lambda: fit_speed.ours(objective, free), 5))


if __name__ == "__main__":
    main()
