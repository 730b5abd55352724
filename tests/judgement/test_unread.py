"""What would tell most of a unit that nobody has read: each part of it by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.stats.mstats import hdquantiles

from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.readings import Instrument, Session
from bobweight.core.judgement import unread as unread_module
from bobweight.core.judgement.advise import PROVED_DEG
from bobweight.core.judgement.answer import Help
from bobweight.core.judgement.faults import Effect, Fault, faults_of, weight_of_nothing
from bobweight.core.judgement.unread import (
    _band,
    _found_with_faults,
    _full_rpm,
    _put_in,
    _Weighed,
    unread,
)
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import get, put
from tests.judgement.invented import Wish, docket

UNIT = docket(Wish())
SPRINGS = ("mechanism", "springs")
RATES = [(*SPRINGS, i, "rate_n_per_mm") for i in (0, 1)]
SLACK, TENSION = (*SPRINGS, 1, "slack_mm"), (*SPRINGS, 0, "initial_tension_n")
STOP = ("mechanism", "stop_deg")


def put_in(*effects: Effect, amount=(0.5, 3.0)):
    """The values of 400 units, of which the second and the fourth have a fault."""
    sound = {RATES[0]: np.full(400, 2.0), RATES[1]: np.arange(400.0), STOP: np.full(400, 12.0)}
    found = {path: values.copy() for path, values in sound.items()}
    fault = Fault("any", "unit", effects, 1.0, 0.4, "", 1.0, "look")
    of_each = np.zeros(400)
    of_each[[1, 3]] = amount
    _put_in(UNIT, found, sound, fault, of_each)
    return found, sound


@pytest.mark.parametrize(("effect", "now"), [
    (Effect(RATES[0], "share"), [3.0, 8.0]),
    (Effect(RATES[0], "share", -1.0), [1.0, 0.2]),  # of which a tenth is left
    (Effect(STOP, "add", -1.0), [11.5, 9.0]),
    (Effect(SLACK, "add"), [get(UNIT, SLACK) + 0.5, get(UNIT, SLACK) + 3.0]),
    (Effect(TENSION, "add"), [0.5, 3.0]),
    (Effect(RATES[1], "none"), [0.0, 0.0]),
    (Effect(STOP, "set", 0.1), [0.1, 0.1]),
    (Effect(RATES[0], "swap", other=RATES[1]), [1.0, 3.0]),
])  # fmt: skip
def test_a_fault_is_put_into_its_units_and_no_others(effect, now):
    found, sound = put_in(effect)
    column = found[effect.path]
    assert column[[1, 3]] == pytest.approx(now)
    rest = np.delete(np.arange(400), [1, 3])
    before = sound.get(effect.path, np.full(400, float(get(UNIT, effect.path) or 0.0)))
    np.testing.assert_array_equal(column[rest], before[rest])
    for path in sound.keys() - {effect.path}:
        np.testing.assert_array_equal(found[path], sound[path])


def test_springs_that_were_swapped_have_each_others_sound_figures():
    found, _ = put_in(Effect(RATES[0], "swap", other=RATES[1]),
                      Effect(RATES[1], "swap", other=RATES[0]))  # fmt: skip
    assert found[RATES[0]][[1, 3]].tolist() == [1.0, 3.0]
    assert found[RATES[1]][[0, 1, 2, 3]].tolist() == [0.0, 2.0, 2.0, 2.0]


@pytest.mark.parametrize(("told", "worked_on"), [(None, False), (3.0, False), (None, True)])
def test_units_have_faults_by_their_odds(told, worked_on):
    """Three times as often as a unit in service, before any work (common practice); within three
    standard deviations of the binomial law. What other sessions say counts as Bayes has it."""
    unit = UNIT.with_changes(history=(Alteration(after_session=1),)) if worked_on else UNIT
    faults = [f for f in faults_of(unit, 0, False) if f.side == "unit" and f.effects]
    odds = sum(f.weight for f in faults) * (1.0 if worked_on else 3.0) * (told or 1.0)
    chance = odds / (odds + weight_of_nothing(unit, 0))
    paths = {e.path for f in faults for e in f.effects}
    sound = {p: np.full(400, float(get(UNIT, p) or 0.0) if p in RATES else 1.0)
             for p in paths}  # fmt: skip
    every = {frozenset({(f.key, 1.0)}) for f in faults}
    teller = told and SimpleNamespace(log_evidence=lambda parts: np.log(told) * (parts in every))
    found = _found_with_faults(unit, 0, sound, np.random.default_rng(3), teller)
    touched = np.zeros(400, bool)
    for path, values in sound.items():
        touched |= found[path] != values
    assert abs(touched.mean() - chance) < 3.0 * np.sqrt(chance * (1.0 - chance) / 400)


def test_the_band_is_what_nineteen_units_in_twenty_keep(monkeypatch):
    """By scipy's own of Harrell and Davis, to the speed at which all is advanced and 30 % on."""
    rng = np.random.default_rng(2)
    drawn = rng.gamma(3.0, size=(400, 2, 61))
    monkeypatch.setattr(unread_module, "_table", lambda made, values, speed: drawn)
    band = _band(UNIT, {STOP: np.full(400, 12.0)})
    quantiles = hdquantiles(drawn[:, 0], (0.5, 0.025, 0.975), axis=0)
    for key, row in zip(("deg", "low_deg", "high_deg"), quantiles, strict=True):
        np.testing.assert_allclose(getattr(band, f"rising_{key}"), row, rtol=1e-6)
    full = predict(UNIT.mechanism).full_rpm
    assert band.speed_rpm[[0, -1]] == pytest.approx([0.0, 1.3 * full], rel=0.02)


def test_the_band_of_a_unit_of_which_nothing_is_known_runs_without_steps():
    """An edge bends by less from place to place than a plot of 250 pixels shows; of 400 units it
    ran in steps, and ended two degrees off where that of many does."""
    band = unread(new_docket()).band
    seen = band.speed_rpm > 0.15 * band.speed_rpm[-1]  # beyond where the first of them start
    for edge in (band.rising_low_deg, band.rising_deg, band.rising_high_deg):
        assert np.abs(np.diff(edge[seen], 2)).mean() < band.rising_high_deg.max() / 250.0


def test_the_speed_looked_up_to_is_that_of_most_units_within_what_engines_have():
    stiff = {RATES[1]: np.array([1.0, 1.0, 40.0]) * get(UNIT, RATES[1])}
    full = predict(UNIT.mechanism).full_rpm
    assert _full_rpm(UNIT, stiff) == pytest.approx(full, rel=0.02)
    heavy, light = (put(UNIT, ("mechanism", "weights", "mass_g"), m) for m in (2000.0, 0.5))
    assert _full_rpm(heavy, {STOP: np.full(3, 12.0)}) == 300.0
    assert _full_rpm(light, {STOP: np.full(3, 12.0)}) == 6000.0


def weighed(instrument: Instrument, curve=None, ratio=2.0) -> _Weighed:
    """Where what is left after an outcome is the uncertainty of the measurement itself."""
    made = _Weighed.__new__(_Weighed)
    made.docket = UNIT.with_changes(
        sessions=(Session(), Session(instrument=instrument)),
        particulars=UNIT.particulars.with_changes(drive_ratio=ratio),
    )
    made.session, made.now, made.values = 1, 10.0, {}
    made.speed = np.linspace(400.0, 2000.0, 9)
    bent = np.interp(made.speed, [400, 1400, 1800, 2000], [0.0, 20.0, 20.8, 24.8])
    made.advance = np.stack([np.stack([bent + 3.0, 0.02 * made.speed])] * 4)
    made.after = lambda outcome, sd: sd
    return made


@pytest.mark.parametrize(("kind", "slip", "u", "shown_rpm"), [
    # Flattest at 1600: 0.002 degrees a revolution of the distributor, of which 30 are not known
    # at the crank.
    ("lamp", 3.0, np.hypot(np.hypot(1.0, 3.0) / 2.0, 0.002 * 15.0), 1600.0 * 2.0 / 1.25),
    ("rig", 3.0, np.hypot(1.0, 0.002 * 30.0), 1600.0 / 1.25),
])  # fmt: skip
def test_a_reading_is_as_sure_as_its_instrument_where_the_curve_is_flat(kind, slip, u, shown_rpm):
    """JCGM 100, 5.1.2: angle, mark and slope times speed, at the distributor."""
    instrument = Instrument(kind=kind, u_angle_deg=1.0, u_speed_rpm=30.0, tachometer_scale=1.25)
    best = weighed(instrument)._reading(slip)
    assert best.gain == pytest.approx(10.0 - u) and best.curve_deg == pytest.approx((10.0, u))
    assert (best.speed_rpm, best.direction) == (pytest.approx(shown_rpm), "rising")


@pytest.mark.parametrize(("instrument", "mark_deg"), [
    (Instrument(), 2.0),  # common practice: nobody proved it
    (Instrument(u={"mark_error_deg": 3.0}), 3.0),
    (Instrument(u={"mark_error_deg": 0.8}), 0.8),
])  # fmt: skip
def test_proving_a_mark_tells_by_how_much_it_may_be_off(instrument, mark_deg):
    made = weighed(instrument)
    made._reading = lambda u_mark: Help("read", 5.0 - u_mark, curve_deg=(10.0, 5.0 + u_mark))
    made._parts = lambda: [Help("measure", gain, STOP) for gain in (0.55, 0.65, 1.5)]
    helps = made.helps(True)
    proved = [h for h in helps if h.what == "prove-mark"]
    gains = [5.0 - mark_deg, mark_deg - PROVED_DEG, 1.5, 0.65]
    assert [h.gain for h in helps] == pytest.approx(sorted(g for g in gains if g > 0.6)[::-1])
    assert len(proved) == (mark_deg > 0.8)
    for each in proved:
        assert each.path == ("sessions", 1, "instrument", "mark_error_deg") and each.u == PROVED_DEG
        assert each.curve_deg == pytest.approx((5.0 + mark_deg, 5.0 + PROVED_DEG))
    first, *others = made.helps(False)
    assert (first.what, first.path, first.gain) == ("enter-table", ("target", "points"), 0.0)
    assert others == list(helps)
    made._parts = lambda: [Help("measure", float(gain), STOP) for gain in range(6, 14)]
    assert [h.gain for h in made.helps(True)] == [13.0, 12.0, 11.0, 10.0, 9.0]


def test_a_rig_has_no_mark_to_prove():
    made = weighed(Instrument(kind="rig"))
    assert [h.what for h in made.helps(True)] == ["read"]


def test_a_part_is_measured_as_a_careful_hand_does():
    """A rate to three in a hundred, a mass to half a gram (common practice)."""
    made = weighed(Instrument())
    mass = ("mechanism", "weights", "mass_g")
    made.values = {
        RATES[0]: np.array([1.0, 2.0, 4.0, 2.0]), RATES[1]: np.full(4, 9.0),
        mass: np.array([18.0, 19.0, 20.0, 21.0]),
        (*SPRINGS, 0, "post_radius_mm"): np.array([20.0, 21.0, 22.0, 23.0]),
        STOP: np.array([12.0, 12.1, 12.1, 12.4]),
    }  # fmt: skip
    found = {h.path: h for h in made._parts()}
    assert found.keys() == {RATES[0], mass, STOP}
    for path, u in ((RATES[0], 0.06), (mass, 0.5), (STOP, 0.2)):
        assert found[path].what == "measure" and found[path].u == pytest.approx(u)
        assert found[path].curve_deg == pytest.approx((10.0, u))
        assert found[path].gain == pytest.approx(10.0 - u)


def test_what_is_weighed_is_the_curve_from_before_its_start_to_beyond_its_end():
    sound = {STOP: np.full(3, 12.0)}
    made = _Weighed(UNIT, 0, sound, {STOP: np.array([11.0, 12.0, 13.0])})
    full = predict(UNIT.mechanism).full_rpm
    assert made.speed == pytest.approx(np.linspace(0.25, 1.1, 9) * full, rel=0.02)
    assert made.curve.shape == (3, 18) and abs(made.curve.mean(axis=0)).max() < 1e-9
    # The stop alone differs, and only the last speed reaches it: 1 degree either way on two ways.
    there = 2.0 * (1.0 + 0.0 + 1.0) / 54
    assert made.now**2 == pytest.approx(there, rel=0.6)
    assert made.after(np.full(3, 7.0), 0.1) == made.now  # an outcome that is always the same


def test_nothing_is_said_once_it_is_stopped():
    assert unread(UNIT, 0, cancelled=lambda: True) is None


def test_a_session_to_come_is_weighed_with_usual_instruments():
    bare = Docket(target=UNIT.target)
    made = [unread(d, s) for d, s in ((bare, -1), (bare.with_changes(sessions=(Session(),)), 0))]
    assert [h.what for h in made[0].helps] == [h.what for h in made[1].helps]
    assert [h.gain for h in made[0].helps] == pytest.approx([h.gain for h in made[1].helps])


def test_instruments_are_those_of_the_session_or_of_a_new_one():
    """A rig has no mark to prove, a lamp, with which a new session begins, has."""
    rig = Session(instrument=Instrument(kind="rig"))
    one, two = UNIT.with_changes(sessions=(rig,)), UNIT.with_changes(sessions=(rig, rig))
    for made, session, lamp in (
        (one, 0, False), (two, 0, False), (two, 1, False), (one, 1, True), (two, 2, True),
        (one, -1, True), (two, -1, True), (UNIT, 0, True),
    ):  # fmt: skip
        found = {h.what for h in unread(made, session).helps}
        assert ("prove-mark" in found) == lamp, (len(made.sessions), session)
    assert "prove-mark" in {h.what for h in unread(two).helps}
