"""What a reading is expected to tell, of instruments and units whose law is known."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Instrument, Session
from bobweight.core.judgement import advise
from bobweight.core.judgement.advise import Adviser, PossibleReading
from bobweight.core.mechanics.branches import Curves
from bobweight.core.mechanics.instrument import Reader

RIG = Instrument(kind="rig", u_speed_rpm=20.0, u_angle_deg=0.5, u_depression_kpa=2.0)


def adviser(instrument=RIG, *, start=400.0, full=1500.0, pipe=False, ratio=1.0) -> Adviser:
    docket = Docket(sessions=(Session(instrument=instrument),))
    table = SimpleNamespace(rising_rpm=np.array([[start, 900.0, full]]))
    simulator = SimpleNamespace(
        curves=lambda values: table, ratio=ratio, capsules=(0,) if pipe else (),
        pipe_on=np.array([pipe]),
    )  # fmt: skip
    found = object.__new__(Adviser)
    found.posterior = SimpleNamespace(
        family=SimpleNamespace(docket=docket, session=0), simulator=simulator, leading=dict,
        noise=lambda: 1.2, values={}, x=None, which=None,
        diagnosis=SimpleNamespace(x=np.zeros((2, 1)), hypothesis=np.zeros(2, int)),
    )  # fmt: skip
    return found


def test_places_reach_from_below_the_start_to_beyond_full_advance_both_ways():
    speed, way, depression = adviser()._places()
    assert (speed.min(), speed.max()) == (pytest.approx(0.6 * 400.0), pytest.approx(1.15 * 1500.0))
    assert np.isnan(depression).all() and (way == 0).sum() == (way == 1).sum()
    slow = adviser(full=700.0)._places()[0]
    assert slow.min() == pytest.approx(0.6 * 350.0), "no more than half of full advance"
    assert adviser(full=20_000.0)._places()[0].max() == pytest.approx(1.15 * 8000.0)


def test_places_are_as_the_instrument_shows_them():
    lamp = Instrument(kind="lamp", tachometer_scale=0.5)
    speed = adviser(lamp, ratio=2.0)._places()[0]
    assert speed.max() == pytest.approx(1.15 * 1500.0 * 2.0 / 0.5)


def test_the_pipe_is_read_below_the_start_where_the_curve_stands_still():
    speed, way, depression = adviser(pipe=True)._places()
    on = ~np.isnan(depression)
    assert speed[on] == pytest.approx(0.7 * 400.0)
    for side in (0, 1):
        assert (np.diff(depression[on & (way == side)]) > 0).all()


def test_one_reading_scatters_by_its_angle_its_speed_and_its_depression():
    """JCGM 100:2008, 5.1.2, of an instrument that shows 0.01 N + 0.2 p."""
    asked = adviser()
    asked._shown = lambda values, x, which, speed, way, depression: (
        0.01 * speed + 0.2 * np.nan_to_num(depression)
    )[None]
    speed, depression = np.array([500.0, 500.0]), np.array([np.nan, 20.0])
    found = asked._sd((speed, np.zeros(2, int), depression))
    plain = np.hypot(1.2 * 0.5, 0.01 * 20.0)
    assert found == pytest.approx([plain, np.hypot(plain, 0.2 * 2.0)])


def test_a_lamp_shows_cam_and_plate_moved_ahead_and_its_own_delay():
    """Static and mark, twice the distributor's degrees, 6 N t less: 10 + 2 · (5 + 4) − 6 · 2000 ·
    0.05e-3 = 27.4 of 2000 engine rev/min with the pipe on."""
    asked = adviser(Instrument(kind="lamp"))
    knots = np.array([[500.0, 1500.0]])
    s, family = asked.posterior.simulator, asked.posterior.family
    s.curves = lambda values: Curves(np.array([[0.0, 10.0]]), knots, knots - 100.0)
    s.reader_of = lambda values: Reader(10.0, 2.0, 1.0, 0.05)
    s.vacuum_deg = lambda values, kpa, way: np.full((1, len(kpa)), 4.0)
    s.noted_deg = lambda values, shown: shown
    s.session, s.docket = 0, family.docket
    family.added = lambda x, which, speed: np.zeros(speed.shape)
    at = np.sqrt(0.5 * (500.0**2 + 1500.0**2))  # half the torque's way: 5 degrees
    speed = np.array([2.0, 2.0, 2.0]) * at
    shown = asked._shown({}, np.zeros((1, 1)), np.zeros(1, int), speed, np.array([0, 0, 1]),
                         np.array([np.nan, np.nan, 20.0]))  # fmt: skip
    late = 6e-3 * 2.0 * at * 0.05
    assert shown[0] == pytest.approx([20.0 - late, 20.0 - late, 28.0 - late])


def test_the_reading_parts_the_two_likeliest_that_lie_far_apart():
    best = PossibleReading(900.0, "rising", None, 0.5, 0.2, (("a", 5.0), ("b", 5.2), ("c", 9.0)))
    assert advise._parted(best, np.array([0.5, 0.4, 0.1])) == ("a", "c")
    assert advise._parted(best, np.array([0.6, 0.39, 0.001])) == ("a", "b")


def test_an_explanation_expects_its_mean_with_the_scatter_of_its_units(monkeypatch):
    """Mean and variance by numpy of samples repeated as often as they weigh."""
    seen = {}

    def gain(means, sds, odds, groups):
        seen.update(means=means, sds=sds, odds=odds)
        return np.zeros(means.shape[1]), np.zeros(means.shape[1])

    monkeypatch.setattr(advise, "mixture_gain", gain)
    asked = adviser()
    shown = np.array([[4.0, 8.0], [5.0, 8.5], [7.0, 9.0]])
    chances = {"one": 0.6, "two": 0.3}
    often = {"one": np.array([3, 1, 0]), "two": np.array([0, 1, 4])}
    asked.posterior.weight_of = lambda name: often[name] / often[name].sum()
    asked.posterior.diagnosis = SimpleNamespace(
        explanations=[SimpleNamespace(name=n, probability=p) for n, p in chances.items()],
        probability=chances.get, place_of=lambda name: 1,
    )  # fmt: skip
    asked.rows, asked.inside, asked.after = np.arange(3), np.ones(3), 0.0
    asked._places = lambda: (np.array([600.0, 900.0]), np.array([0, 1]), np.full(2, np.nan))
    asked._shown = lambda *_: shown
    asked._sd = lambda *_: np.array([0.3, 0.4])
    advice = asked.next_reading()
    for k, name in enumerate(("one", "two")):
        drawn = np.repeat(shown, often[name], axis=0)
        assert seen["means"][k] == pytest.approx(drawn.mean(axis=0))
        assert seen["sds"][k] == pytest.approx(
            np.sqrt(drawn.var(axis=0) + np.array([0.3, 0.4]) ** 2)
        )
    assert seen["odds"] == pytest.approx([2 / 3, 1 / 3])
    assert not advice.worth_taking and advice.apart == ("one", "two")
