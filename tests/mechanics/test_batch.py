"""Many builds at once give what each gives alone, whatever varies between them."""

import platform
import subprocess
import sys

import numpy as np
import pytest

from bobweight.core.mechanics.balance import RPM_PER_RAD_S, Balance, balance_of, balance_speeds
from bobweight.core.mechanics.branches import curves
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError
from bobweight.core.record import get, put, walk

from .mechanisms import LINKAGES, plain, random_mechanism, spring

COUNT = 5


_ENDS = {("stop_deg",), ("stop_give_deg",)}  # a measured table may reach no further


def numbers(mechanism):
    """Paths of every number of the mechanism that is known, but those of a measured table."""
    return [
        path
        for path, parameter, value in walk(mechanism)
        if parameter.kind == "number" and value is not None and "points" not in path
    ]


def some_of(kind: str, count: int):
    rng = np.random.default_rng(LINKAGES.index(kind) + 200)
    while count:
        mechanism = random_mechanism(rng, kind, friction=True)
        if not any(problem.grave for problem in mechanism_problems(mechanism)):
            count -= 1
            yield mechanism


def assert_alike(builds: Builds, singles) -> None:
    speeds = balance_speeds(builds, 40)
    for row, single in enumerate(singles):
        alone = Balance(Builds(single))
        theta = speeds.theta_rad[row]
        assert theta[0] == 0.0 and np.all(np.diff(theta) >= 0)
        assert theta[-1] == pytest.approx(np.radians(single.end_deg), rel=1e-12)
        take_ups = alone.take_ups_rad()
        apart = np.nanmin(np.abs(theta[:, None] - np.append(take_ups, 99.0)), axis=1) > 1e-9
        point = theta[None, None, :]
        squares = alone.speed_squared(point, alone.engaged_at(point))
        for square, rpm in zip(squares, (speeds.rising_rpm, speeds.falling_rpm), strict=True):
            expected = np.sqrt(square[0, 0]) * RPM_PER_RAD_S
            assert rpm[row, apart] == pytest.approx(expected[apart], rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("kind", LINKAGES)
def test_every_number_varied_alone(kind):
    rng = np.random.default_rng(7)
    checked = set()
    for mechanism in some_of(kind, 2):
        for path in numbers(mechanism):
            value = get(mechanism, path)
            values = value + (0.01 * abs(value) + 1e-3) * rng.uniform(0.0, 1.0, COUNT)
            if path in _ENDS and kind in ("swing", "radius"):
                values = value - 0.02 * value * rng.uniform(0.0, 1.0, COUNT)  # within the table
            singles = [put(mechanism, path, float(v)) for v in values]
            assert_alike(Builds(mechanism, {path: values}), singles)
            checked.add(path[-1])
    assert {"mass_g", "rate_n_per_mm", "tang_mm", "peg_angle_deg", "stick_nmm"} <= checked


@pytest.mark.parametrize("kind", LINKAGES)
def test_all_numbers_varied_together(kind):
    rng = np.random.default_rng(8)
    for mechanism in some_of(kind, 4):
        paths = [p for p in numbers(mechanism) if p not in _ENDS]
        varied, singles = {}, [mechanism] * COUNT
        for path in paths:
            value = get(mechanism, path)
            varied[path] = value + (0.003 * abs(value) + 1e-4) * rng.uniform(0.0, 1.0, COUNT)
            singles = [
                put(one, path, float(v)) for one, v in zip(singles, varied[path], strict=True)
            ]
        assert_alike(Builds(mechanism, varied), singles)


def test_number_of_weights_varies():
    assert_alike(
        Builds(plain(), {("weights", "count"): np.array([1.0, 2.0, 3.0])}),
        [put(plain(), ("weights", "count"), n) for n in (1, 2, 3)],
    )


def test_one_value_for_all_beside_values_for_each():
    """Arrays of length 1 stand for every build, also across the pieces a batch is worked in."""
    count = 700
    rate = np.linspace(0.5, 1.5, count)
    varied = {
        ("springs", 0, "rate_n_per_mm"): rate,
        ("weights", "mass_g"): np.array([31.0]),
        ("stop_deg",): np.array([11.0]),
    }
    builds = Builds(plain(), varied)
    assert builds.count == count
    rows = [0, 119, 120, 350, count - 1]
    table = balance_speeds(builds, 100)
    heavy = put(put(plain(), ("weights", "mass_g"), 31.0), ("stop_deg",), 11.0)
    for row in rows:
        one = put(heavy, ("springs", 0, "rate_n_per_mm"), float(rate[row]))
        alone = balance_speeds(Builds(one), 100)
        assert table.rising_rpm[row] == pytest.approx(alone.rising_rpm[0], rel=1e-12)
        assert table.theta_rad[row] == pytest.approx(alone.theta_rad[0], rel=1e-12)


def test_take_ups_that_only_some_builds_have():
    """Builds whose secondary is never taken up see no step at the stop."""
    slack = np.array([0.2, 1.0, 1.5, 9.0])
    mechanism = plain(
        springs=(spring(15.0, rate_n_per_mm=0.9), spring(15.2, initial_tension_n=10.0))
    )
    table = curves(balance_speeds(Builds(mechanism, {("springs", 1, "slack_mm"): slack}), 60))
    for row, value in enumerate(slack):
        one = predict(put(mechanism, ("springs", 1, "slack_mm"), float(value)))
        assert table.rising_rpm[row, -1] == pytest.approx(one.full_rpm, rel=1e-9)
        assert table.falling_rpm[row, 0] == pytest.approx(one.start_rpm, rel=1e-9)


def test_curves_at_agrees_with_the_exact_curve():
    mechanism = plain(stick_nmm=2.0, grip=0.03)
    rates = np.array([0.7, 0.9, 1.2])
    table = curves(balance_speeds(Builds(mechanism, {("springs", 0, "rate_n_per_mm"): rates}), 400))
    speeds = np.linspace(0.0, 1200.0, 41)
    for way in ("rising", "falling"):
        batch = table.at(speeds, way)
        per_build = table.at(np.tile(speeds, (3, 1)), way)
        assert np.array_equal(batch, per_build)
        for row, rate in enumerate(rates):
            one = predict(put(mechanism, ("springs", 0, "rate_n_per_mm"), float(rate)))
            assert batch[row] == pytest.approx(one.advance_deg(speeds, way), abs=1e-3)


@pytest.mark.parametrize(
    "path",
    [
        ("springs", 0, "rate"),
        ("springs", 2, "rate_n_per_mm"),
        ("springs", -1, "rate_n_per_mm"),
        ("spring", 0, "rate_n_per_mm"),
        ("springs", "rate_n_per_mm"),
        ("springs", 0),
        ("springs", 0, "role"),
        ("weights",),
        ("mechanism", "stop_deg"),
        ("stop_deg", "u"),
        (),
    ],
)
def test_a_path_to_no_number_is_refused(path):
    with pytest.raises(BobweightError) as told:
        Builds(plain(), {path: np.array([1.0, 2.0])})
    assert told.value.problem.code in ("no-such-value", "no-such-number")


def test_columns_of_different_length_are_refused():
    varied = {("stop_deg",): np.array([9.0, 10.0, 11.0]), ("grip",): np.array([0.0, 0.1])}
    with pytest.raises(BobweightError) as told:
        Builds(plain(), varied)
    assert told.value.problem.code == "unequal-columns"


def test_a_curve_asked_again_answers_the_same_without_working_it_out():
    made, other = predict(plain()), predict(plain())
    speeds = np.linspace(made.start_rpm, made.full_rpm, 7)
    for direction in ("rising", "falling"):
        once = made.advance_deg(speeds, direction)
        assert np.array_equal(once, other.advance_deg(speeds, direction))
        kept = once.copy()
        once += 1.0  # whoever asked may do with it what he likes
        assert np.array_equal(made.advance_deg(speeds, direction), kept)
    made.__dict__["_balance"] = None  # with which nothing can be worked out
    made.advance_deg(speeds, "falling")
    made.advance_deg(speeds[2:4], "falling")
    many = np.linspace(1.0, 2000.0, 1500)
    one_by_one = [float(other.advance_deg(rpm)) for rpm in many]
    np.testing.assert_allclose(other.advance_deg(many), one_by_one, atol=1e-8)
    assert max(map(len, other._answers.values())) <= 500
    assert np.isnan(other.advance_deg([np.nan, 900.0])).tolist() == [True, False]
    assert other.advance_deg(np.empty(0)).shape == (0,)
    assert other.advance_deg([[900.0], [950.0]]).shape == (2, 1)


def test_the_balance_kept_is_that_of_the_mechanism_asked_for():
    one = plain(springs=(spring(),))
    other = put(one, ("springs", 0, "rate_n_per_mm"), 2.0 * one.springs[0].rate_n_per_mm)
    kept = balance_of(one)
    assert balance_of(one) is kept
    for mechanism in (other, one, other):
        assert balance_of(mechanism).builds.mechanism is mechanism
    speeds = [predict(m).full_rpm for m in (one, other, one)]
    assert speeds[0] == speeds[2] < speeds[1]


def test_a_curve_that_a_job_asks_too_answers_though_all_was_forgotten_meanwhile(monkeypatch):
    """The window and a job behind it ask the same prediction."""
    made = predict(plain())
    speeds = np.linspace(made.start_rpm, made.full_rpm, 300)
    rightly = predict(plain()).advance_deg(np.append(speeds[:2], 900.0))
    made.advance_deg(speeds)
    work_out = type(made)._advance_deg

    def while_others_ask(self, speed, direction):
        monkeypatch.undo()
        made.advance_deg(speeds + 0.5)
        return work_out(self, speed, direction)

    monkeypatch.setattr(type(made), "_advance_deg", while_others_ask)
    np.testing.assert_allclose(made.advance_deg(np.append(speeds[:2], 900.0)), rightly, atol=1e-8)


_AGAIN_AND_AGAIN = """
import resource
import numpy as np
from bobweight.core.mechanics.balance import balance_speeds
from bobweight.core.mechanics.builds import Builds
from tests.mechanics.mechanisms import plain

builds = Builds(plain(), {("weights", "mass_g"): np.linspace(25.0, 30.0, 500)})
balance_speeds(builds, 40)
before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
for _ in range(20):
    balance_speeds(builds, 40)
print(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="of glibc's malloc alone")
def test_pages_of_arrays_are_kept_for_the_next():
    """Else some 500 of 4 kB are fetched from the system in each of the twenty, at the price of the
    mechanics over again (getrusage(2) counts them)."""
    done = subprocess.run([sys.executable, "-c", _AGAIN_AND_AGAIN], capture_output=True, check=True)
    assert int(done.stdout) < 2000
