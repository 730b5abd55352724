"""Cam angle and swing from distances: laid out by complex numbers, and one edit of the docket."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from bobweight.app.pages.mechanism.turn_dialog import TurnDialog
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.design.turned import Distances, Turning, turned, with_turning
from bobweight.core.docket.docket import new_docket
from bobweight.core.problems import BobweightError
from bobweight.core.record import put


def laid_out(turn_deg: float, standing=24.0, moving=17.0, apart_deg=70.0, **u) -> Distances:
    """The distances of a part that has turned so far."""
    ends = [cmath.rect(moving, math.radians(apart_deg + turn)) for turn in (0.0, turn_deg)]
    rest, out = (abs(end - standing) for end in ends)
    return Distances(standing_mm=standing, moving_mm=moving, rest_mm=rest, out_mm=out, u=u)


@pytest.mark.parametrize("turn_deg", [0.0, 3.0, 12.5, 38.0, -25.0])
def test_the_angle_follows_from_the_distances(turn_deg):
    assert turned(laid_out(turn_deg)).deg == pytest.approx(abs(turn_deg), abs=1e-9)
    assert turned(laid_out(turn_deg).with_changes(out_mm=None)) is None


def test_the_uncertainty_is_that_of_many_measurements():
    u = {"standing_mm": 0.1, "moving_mm": 0.05, "rest_mm": 0.08, "out_mm": 0.12}
    true = laid_out(14.0, **u)
    rng = np.random.default_rng(5)
    many = [
        turned(true.with_changes(**{k: getattr(true, k) + rng.normal(0, s) for k, s in u.items()}))
        for _ in range(2000)
    ]
    assert turned(true).u_deg == pytest.approx(np.std([one.deg for one in many]), rel=0.06)


def test_what_gives_no_angle_is_told():
    with pytest.raises(BobweightError, match="distances-no-triangle"):
        turned(laid_out(10.0).with_changes(rest_mm=60.0))
    with pytest.raises(BobweightError, match="distances-in-line"):
        turned(laid_out(0.0, apart_deg=0.0))
    with pytest.raises(BobweightError) as told:
        with_turning(new_docket(), Turning(swing=laid_out(10.0).with_changes(rest_mm=60.0)))
    assert told.value.problem.path == ("swing", "rest_mm")


def test_stop_ratio_and_row_of_a_measured_linkage():
    asked = Turning(cam=laid_out(11.0), swing=laid_out(20.0, standing=19.0))
    made = with_turning(new_docket(), asked).mechanism
    assert made.stop_deg == pytest.approx(11.0) and made.u["stop_deg"] > 0.1
    assert made.linkage.ratio == pytest.approx(0.55) and made.linkage.u["ratio"] > 0.005
    measured = put(new_docket(), ("mechanism", "linkage", "kind"), "measured")
    part_way = asked.with_changes(at_stop=False)
    made = with_turning(measured, part_way).mechanism
    assert made.stop_deg is None
    assert [(p.cam_deg, p.swing_deg) for p in made.linkage.points] == [(0.0, 0.0), (11.0, 20.0)]


def test_the_dialog_fills_the_docket_in_one_edit(qtbot):
    store, display = Store(new_docket()), Display()
    dialog = TurnDialog(store, display)
    qtbot.addWidget(dialog)
    dialog.show()
    assert not dialog.fill_button.isEnabled()
    distances = laid_out(11.0)
    dialog.asked_store.replace("Cam", Turning(cam=distances))
    assert dialog.facts.texts()["Turn of the cam"].startswith("11.0")
    dialog.fill_button.click()
    assert store.docket.mechanism.stop_deg == pytest.approx(11.0)
    assert store.undo_stack.count() == 1
    store.undo_stack.undo()
    assert store.docket.mechanism.stop_deg is None
    dialog.asked_store.edit("Too far", ("cam", "rest_mm"), 70.0)
    assert "must lie between" in dialog.said.text() and not dialog.fill_button.isEnabled()
    dialog.close()
    store.release()
