"""A value typed in one frame lands converted where another is kept, in a field and in a table."""

from __future__ import annotations

import pytest

from bobweight.app.editors.number import NumberField
from bobweight.app.editors.row_model import RowModel
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.record import parameter_at, put
from tests.board.dockets import docket

STOP = ("mechanism", "stop_deg")


@pytest.mark.parametrize(
    ("typed", "stored"), [("24 crank", 12.0), ("28° with static", 10.0), ("11 dist.", 11.0)]
)
def test_a_field_takes_another_frame(qtbot, typed: str, stored: float):
    store = Store(docket())  # static 8 at the crank, which turns twice as fast
    field = NumberField(parameter_at(store.docket, STOP), store, STOP, Display())
    qtbot.addWidget(field)
    field.edit.setText(typed)
    assert field.commit()
    assert store.docket.mechanism.stop_deg == pytest.approx(stored)
    store.release()


def test_static_that_nobody_entered_is_asked_for(qtbot):
    store = Store(put(docket(), ("setting_up", "static_deg"), None))
    field = NumberField(parameter_at(store.docket, STOP), store, STOP, Display())
    qtbot.addWidget(field)
    field.edit.setText("28 with static")
    assert not field.commit()
    assert store.docket.mechanism.stop_deg == docket().mechanism.stop_deg
    store.release()


def test_a_cell_of_the_target_takes_another_frame(qtbot):
    store = Store(put(docket(), ("target", "frame"), "distributor"))
    model = RowModel(store, ("target", "points"), ("speed_rpm", "least_deg", "most_deg"), Display())
    for column, typed in ((0, "1900 crank"), (2, "24 with static")):
        assert model.setData(model.index(1, column), typed)
    point = store.docket.target.points[1]
    assert (point.speed_rpm, point.most_deg) == (950.0, 8.0)
    store.release()
