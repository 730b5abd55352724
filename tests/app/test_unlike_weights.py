"""The table of weights that are not alike: what each linkage needs, typed, counted and undone."""

from __future__ import annotations

import pytest

from bobweight.app.pages.mechanism import MechanismPage
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.mechanism import Linkage, OwnWeight
from bobweight.core.mechanics.predict import predict
from bobweight.core.mechanics.typical import completed
from bobweight.core.record import put
from tests.samples import sample

pytestmark = pytest.mark.usefixtures("told_at_once")
OF_ALL_KINDS = ("mass_g", "pivot_radius_mm", "place_deg", "cg_mm", "rest_angle_deg")
OWN = {
    "constant": {"ratio": "0.72"},
    "slot": {"pin_radius_mm": "8.4", "pin_angle_deg": "-3"},
    "link": {
        "pin_radius_mm": "0.34 in", "pin_angle_deg": "-3", "foot_radius_mm": "9.8",
        "link_mm": "12.5",
    },
}  # fmt: skip


@pytest.fixture
def page(qtbot, qapp):
    store, display = Store(with_kind("constant")), Display()
    made = MechanismPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.show()
    made.part_weights()
    yield made
    made.close()
    store.release()


def with_kind(kind: str):
    docket = sample("weak_primary")
    mechanism = put(docket.mechanism, ("linkage",), Linkage(kind=kind, lies="behind"))
    return put(docket, ("mechanism",), completed(mechanism).mechanism)


def cell(page, row: int, key: str):
    model = page._each_linked.model
    return model.index(row, model.keys.index(key))


@pytest.mark.parametrize("kind", OWN)
def test_what_a_weight_has_of_its_own_is_typed_counts_and_is_undone(page, kind):
    store, model = page.store, page._each_linked.model
    rows = (OwnWeight(), OwnWeight())
    docket = put(with_kind(kind), ("mechanism", "weights", "each"), rows)
    store.replace("Another linkage", docket)
    assert page._each.model.keys == OF_ALL_KINDS and model.keys == tuple(OWN[kind])
    assert page._each_linked.view.model().columnCount() == len(model.keys)
    alike = predict(store.docket.mechanism).full_rpm
    for key, text in OWN[kind].items():
        before = store.docket
        index = cell(page, 1, key)
        assert model.data(index) == ""
        assert model.setData(index, text)
        own = store.docket.mechanism.weights.each
        assert own[0] == OwnWeight() and getattr(own[1], key) is not None
        assert predict(store.docket.mechanism).full_rpm != pytest.approx(alike, rel=1e-4)
        store.undo_stack.undo()
        assert store.docket == before and model.data(index) == ""
    if kind == "link":
        assert model.setData(cell(page, 1, "pin_radius_mm"), "0.34 in")
        assert store.docket.mechanism.weights.each[1].pin_radius_mm == pytest.approx(0.34 * 25.4)


def test_a_figure_beyond_its_limits_is_told_and_stays_through_another_linkage(page):
    index = cell(page, 1, "ratio")
    assert not page._each_linked.model.setData(index, "70")
    assert page.store.docket.mechanism.weights.each[1].ratio is None
    assert "70" in page._each_linked.said.text() and "20" in page._each_linked.said.text()
    page.store.edit("Linkage", ("mechanism", "linkage", "kind"), "slot")
    assert "ratio" not in page._each_linked.model.keys and "70" in page._each_linked.said.text()
    page.store.edit("Linkage", ("mechanism", "linkage", "kind"), "constant")
    assert page._each_linked.model.data(cell(page, 1, "ratio")) == "▲ 70"


def test_a_problem_of_a_weights_own_link_opens_its_cell(page):
    rows = (OwnWeight(), OwnWeight(link_mm=12.0))
    docket = put(with_kind("link"), ("mechanism", "weights", "each"), rows)
    page.store.replace("Another linkage", docket)
    assert page.focus_path(("mechanism", "weights", "each", 1, "link_mm"))
    assert page._each_linked.view.currentIndex() == cell(page, 1, "link_mm")
