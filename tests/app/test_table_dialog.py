"""What a table is understood to say is shown before it is taken, and can be changed by hand."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QDialog, QLabel

from bobweight.app.editors.table_dialog import TableDialog
from bobweight.app.editors.take_table import TableTaker, TakenDraft, docket_taker
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.core.docket.docket import new_docket
from bobweight.core.tables.source import Source
from tests.app.reasons import unexplained
from tests.tables.dialects import LAMP


@pytest.fixture
def dialog(qtbot):
    def make(text: str, kind: str = "readings", encoding: str = "") -> TableDialog:
        draft = TakenDraft("Bench", Source(text=text, encoding=encoding), kind, LAMP)
        made = TableDialog(draft)
        qtbot.addWidget(made)
        made.show()
        return made

    return make


def shown_rows(dialog: TableDialog) -> list[tuple[str, str]]:
    model = dialog.model
    return [
        tuple(model.data(model.index(row, column)) for column in range(2))
        for row in range(model.rowCount())
    ]


def pick(dialog: TableDialog, column: int, box: str, key: str) -> None:
    """As by hand: choose an entry of a box of a column (from 1)."""
    combo = getattr(dialog.columns[column - 1], box)
    combo.setCurrentIndex(combo.findData(key))
    combo.activated.emit(combo.currentIndex())


def test_columns_rows_and_reasons_are_shown(dialog):
    shown = dialog("No,rpm,rising,vacuum\n1,1200,12,\n2,x,13,\nMean,1200,12.5,\n")
    keys = [row.meaning.currentData() for row in shown.columns]
    assert keys == ["row_number", "speed_rpm", "rising_deg", "depression_kpa"]
    assert [line for line, _ in shown_rows(shown)] == ["3", "4", "2"]  # the refused ones first
    assert "not a number" in shown_rows(shown)[0][1] and "mean" in shown_rows(shown)[1][1]
    assert "1200 rev/min, 12°, rising" in shown_rows(shown)[2][1]
    assert shown.take_button.text() == "Take the one row as shown"
    assert shown.columns[1].examples.text() == "1200, x, 1200"


def test_how_many_of_a_spring_there_are_is_shown(dialog):
    shown = dialog("label,count,rate N/mm\nblue,2,1.25\nred,1,0.5\n", "tray")
    assert [text.removesuffix(", 0 N") for _, text in shown_rows(shown)] == [
        "blue, how many: 2, 1.25 N/mm", "red, how many: 1, 0.5 N/mm"
    ]  # fmt: skip


def test_what_is_not_sure_has_the_keyboard_and_enter_takes_nothing(qtbot, dialog):
    shown = dialog("1200,12\n1500,14\n")
    assert [bool(row.reason.text()) for row in shown.columns] == [True, True]
    assert not shown.take_button.isDefault()
    qtbot.keyClick(shown.columns[0].meaning, Qt.Key.Key_Return)
    assert shown.isVisible() and shown.result() != QDialog.DialogCode.Accepted
    sure = dialog("rpm,deg\n1200,12\n")
    assert sure.take_button.isDefault()


def test_a_column_is_changed_by_hand(dialog):
    shown = dialog("speed,x\n20,2\n25,3\n")
    pick(shown, 1, "unit", "rev/s")
    pick(shown, 2, "frame", "distributor")
    assert [(r.speed_rpm, r.angle_deg) for r in shown.understanding.stored] == [
        (1200.0, 12.0),
        (1500.0, 14.0),
    ]
    assert shown.understanding.sure and not any(row.reason.text() for row in shown.columns)
    pick(shown, 2, "meaning", "ignored")
    assert not shown.take_button.isEnabled() and "needed" in shown.summary.text()
    assert not unexplained(shown)


def test_an_old_code_page_is_said(dialog):
    shown = dialog("rpm,deg\n1,2\n", "readings", "cp850")
    texts = [label.text() for label in shown.findChildren(QLabel)]
    assert any("cp850" in text for text in texts)


def test_whatever_a_column_is_said_to_be_a_refusal_has_its_reason(dialog):
    shown = dialog("a,b,c\n1200,12,5\n1500,14,6\n")
    for column in (1, 2, 3):
        for at in range(shown.columns[column - 1].meaning.count()):
            pick(shown, column, "meaning", shown.columns[column - 1].meaning.itemData(at))
            assert not unexplained(shown), shown.summary.text()


@pytest.fixture
def store():
    return Store(new_docket())


def test_called_off_nothing_is_taken_and_taken_undo_brings_back(store, monkeypatch):
    taker = docket_taker("readings", store, Display())
    monkeypatch.setattr(TableTaker, "ask", staticmethod(lambda draft, _parent: None))
    assert taker.paste("rpm,deg\n1200,12\n") == []
    assert store.undo_stack.count() == 0
    monkeypatch.setattr(TableTaker, "ask", staticmethod(lambda draft, _parent: draft.understood()))
    before = store.docket
    told = taker.paste("rpm,rising,falling\n1200,12,13\n1500,x,14\n")
    assert told[0] == "2 rows taken." and "Line 3." in told[1]
    assert store.undo_stack.count() == 1
    store.undo_stack.undo()
    assert store.docket == before


def test_vacuum_points_among_the_check_points_go_where_they_belong(store, monkeypatch):
    monkeypatch.setattr(TableTaker, "ask", staticmethod(lambda draft, _parent: draft.understood()))
    store.edit("Frame", ("target", "frame"), "crank")
    docket_taker("target", store, Display()).paste("inHg,distributor deg\n5,2-3\n")
    (point,) = store.docket.target.vacuum_points
    assert (point.least_deg, point.most_deg) == (2.0, 3.0)
    assert store.docket.target.points == ()


def test_the_whole_way_by_the_dialog(qtbot, store, monkeypatch):
    seen = []

    def press(self) -> int:
        seen.append(self.take_button.text())
        return QDialog.DialogCode.Accepted

    monkeypatch.setattr(TableDialog, "exec", press)
    QGuiApplication.clipboard().setText("rpm\tdeg\n1200\t12\n")
    told = docket_taker("readings", store, Display()).paste(QGuiApplication.clipboard().text())
    assert seen == ["Take the one row as shown"] and told == ["One row taken."]
    assert store.docket.sessions[0].readings[0].speed_rpm == 1200.0
