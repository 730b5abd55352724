"""A value typed in one frame lands converted where another is kept, in a field and in a table."""

from __future__ import annotations

import pytest

from bobweight.app.command_line.plain_text import verdict_text
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.row_model import RowModel
from bobweight.app.messages.figure_words import said
from bobweight.app.messages.figures import degrees, signed
from bobweight.app.paper.words import worded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.timing_session.words import band_text
from bobweight.core.figure.speed import speed_figure
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import parameter_at, put
from bobweight.core.sheet.blocks import check_point_rows
from tests.board.dockets import docket
from tests.samples import sample

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


def test_a_limit_is_told_as_it_was_typed_wherever_it_is():
    """24.25 was told as 24.2 and 10.35 as 10.3: what a binary fraction ends on is no rounding."""
    made = put(sample("weak_primary"), ("target", "points", 1, "most_deg"), 10.35)
    known = outcome(put(made, ("target", "ceiling_deg"), 24.25))
    shown = speed_figure(known, View())
    told = [said(label.words) for label in shown.labels]
    assert "ceiling 24.25°" in told
    cells = [[worded(cell.text) for cell in row] for row in check_point_rows(known, View()).rows]
    printed = verdict_text(known.comparison.all_points, View())
    for limit in ("4.5 to 10.35", "at most 24.25"):
        assert any(limit in row for row in cells) and limit in printed
    assert band_text(4.5, 10.35) == "4.5 to 10.35°" and band_text(None, 24.25) == "at most 24.25°"
    assert degrees(24.25) == "24.3°" and signed(-10.35) == "−10.4", "a half goes up, as by hand"
