"""Fields and tables: typed in any unit, refused with a sentence, undone."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtWidgets import QApplication, QLineEdit

from bobweight.app.board.form_words import form_lines
from bobweight.app.editors.choice import ChoiceField, FlagField
from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.editors.table import RecordTable
from bobweight.app.editors.take_table import docket_taker
from bobweight.app.editors.text import TextField
from bobweight.app.messages.figures import amount_u
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.words import written
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Reading
from bobweight.core.docket.target import CheckPoint
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.record import get, parameter_at, put
from bobweight.core.units import FORCE, LENGTH, STRESS

RATE = ("mechanism", "springs", 0, "rate_n_per_mm")
SLACK = ("mechanism", "springs", 0, "slack_mm")
TANG = ("mechanism", "springs", 0, "tang_mm")
READINGS = ("sessions", 0, "readings")
KEYS = ("speed_rpm", "angle_deg", "direction", "depression_kpa", "left_out", "note")


@pytest.fixture
def store(qapp):
    docket = put(new_docket(), ("mechanism", "springs"), (Spring(role="primary"),))
    store = Store(docket)
    yield store
    store.release()


@pytest.fixture
def display(qapp):
    return Display()


def make(kind, qtbot, store, display, path):
    field = kind(parameter_at(store.docket, path), store, path, display)
    qtbot.addWidget(field)
    field.show()
    return field


def enter(qtbot, edit: QLineEdit, text: str) -> None:
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


# 1 lbf/in = 0.175126835 N/mm, NIST SP 811 (2008), App. B.8
@pytest.mark.parametrize(
    ("typed", "stored"),
    [
        ("1.25", 1.25),
        ("1,25", 1.25),
        ("3.2 lbf/in", 3.2 * 0.175126835),
        ("1250 N/m", 1.25),
    ],
)
def test_any_unit_lands_converted(qtbot, store, display, typed, stored):
    field = make(NumberField, qtbot, store, display, RATE)
    enter(qtbot, field.edit, typed)
    assert get(store.docket, RATE) == pytest.approx(stored, rel=1e-8)
    assert not field.said.isVisible()
    assert store.undo_stack.undoText().startswith("Primary spring, rate ")


def test_an_edit_is_told_to_the_fields_of_its_record_alone(qtbot, store, display, monkeypatch):
    store.replace("two", put(store.docket, RATE[:2], (Spring(), Spring())))
    shown = "2changed(PyObject)"  # the signal, as Qt names it
    before, asked = store.receivers(shown), []
    was = NumberField._touched
    monkeypatch.setattr(
        NumberField, "_touched", lambda field, change: asked.append(field) or was(field, change)
    )
    second = (*RATE[:2], 1, RATE[-1])
    rate, slack, other = (
        make(NumberField, qtbot, store, display, path) for path in (RATE, SLACK, second)
    )
    assert store.receivers(shown) == before
    store.edit("rate", RATE, 2.5)
    assert set(asked) == {rate, slack} and rate.edit.text() == "2.5"
    other.set_path(RATE)
    asked.clear()
    store.edit("of the second", second, 3.5)
    assert not asked
    store.edit("rate", RATE, 1.5)
    assert set(asked) == {rate, slack, other} and other.edit.text() == "1.5"


def test_refused_text_stays_with_a_sentence(qtbot, store, display):
    field = make(NumberField, qtbot, store, display, RATE)
    enter(qtbot, field.edit, "1.2 furlongs")
    assert field.edit.text() == "1.2 furlongs"
    assert "furlongs" in field.said.text() and "N/mm" in field.said.text()
    assert field.said.isVisible() and field.edit.property("refused")
    assert get(store.docket, RATE) is None and store.undo_stack.count() == 0
    assert "furlongs" in field.edit.accessibleDescription()
    qtbot.keyClick(field.edit, Qt.Key.Key_Escape)
    assert field.edit.text() == "" and not field.said.isVisible()


def test_beyond_the_limit_names_field_value_limit(qtbot, store, display):
    field = make(NumberField, qtbot, store, display, RATE)
    enter(qtbot, field.edit, "600")
    said = field.said.text()
    assert "rate" in said and "600\u00a0N/mm" in said and "500\u00a0N/mm" in said
    enter(qtbot, field.edit, "60")
    assert "unusual" in field.said.text()
    assert get(store.docket, RATE) == 60


def test_shown_in_the_display_unit_and_stored_exactly(qtbot, store, display):
    store.edit("Rate", RATE, 1.23456789)
    field = make(NumberField, qtbot, store, display, RATE)
    display.set_unit("spring_rate", "lbf/in")
    assert field.unit_label.text() == "lbf/in" and field.edit.text() == "7.05"
    field.edit.setFocus()
    assert field.commit() and get(store.docket, RATE) == 1.23456789, "not touched by looking"
    enter(qtbot, field.edit, "7")
    assert get(store.docket, RATE) == pytest.approx(7 * 0.175126835, rel=1e-8)


def test_empty_means_not_known_where_that_is_allowed(qtbot, store, display):
    store.edit("Rate", RATE, 1.2)
    field = make(NumberField, qtbot, store, display, RATE)
    enter(qtbot, field.edit, " ")
    assert get(store.docket, RATE) is None
    tang = make(NumberField, qtbot, store, display, TANG)
    enter(qtbot, tang.edit, " ")
    assert get(store.docket, TANG) == 0.0 and "not known" in tang.said.text()


def test_uncertainty_beside_the_value(qtbot, store, display):
    store.edit("Rate", RATE, 2.0)
    field = make(NumberField, qtbot, store, display, RATE)
    assert field.u_edit.placeholderText() == "not stated"
    enter(qtbot, field.u_edit, "5 %")
    assert store.docket.mechanism.springs[0].u["rate_n_per_mm"] == pytest.approx(0.1)
    enter(qtbot, field.u_edit, "+/- 0,2")
    assert store.docket.mechanism.springs[0].u["rate_n_per_mm"] == pytest.approx(0.2)
    enter(qtbot, field.u_edit, "0.1")
    enter(qtbot, field.u_edit, "-1")
    assert "uncertainty" in field.said.text() and field.u_edit.text() == "-1"
    enter(qtbot, field.u_edit, " ")
    assert "rate_n_per_mm" not in store.docket.mechanism.springs[0].u
    store.undo_stack.undo()
    assert field.u_edit.text() == "0.1"


def test_another_field_does_not_take_what_is_being_typed(qtbot, store, display):
    store.edit("Rate", RATE, 2.0)
    field = make(NumberField, qtbot, store, display, RATE)
    field.edit.setText("2.x")
    store.edit("Slack", SLACK, 1.0)
    store.state_uncertainty("Slack", SLACK, 0.1)
    assert field.edit.text() == "2.x"


def test_arrows_step_as_one_edit(qtbot, store, display):
    store.edit("Slack", SLACK, 1.0)
    field = make(NumberField, qtbot, store, display, SLACK)
    field.edit.setFocus()
    count = store.undo_stack.count()
    for _ in range(3):
        qtbot.keyClick(field.edit, Qt.Key.Key_Up)
    qtbot.keyClick(field.edit, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert get(store.docket, SLACK) == pytest.approx(2.3)
    assert store.undo_stack.count() == count + 1
    for _ in range(40):
        qtbot.keyClick(field.edit, Qt.Key.Key_Down)
    assert get(store.docket, SLACK) == 0.0, "stops at the limit"
    store.undo_stack.undo()
    assert get(store.docket, SLACK) == 1.0


def test_steps_are_round_in_the_unit_shown(qtbot, store, display):
    store.edit("Rate", RATE, 10 * 0.17512683524647637)
    display.set_unit("spring_rate", "lbf/in")
    field = make(NumberField, qtbot, store, display, RATE)
    qtbot.keyClick(field.edit, Qt.Key.Key_Up)
    assert field.edit.text() == "10.1"


def test_names_for_the_ear(qtbot, store, display):
    field = make(NumberField, qtbot, store, display, RATE)
    assert field.edit.accessibleName() == "Primary spring, rate (N/mm)"
    assert field.u_edit.accessibleName() == "Primary spring, rate, standard uncertainty"
    assert "Usual: 0.1 to 40\u00a0N/mm." in field.edit.toolTip()


def test_whole_text_choice_flag(qtbot, store, display):
    lobes = make(WholeField, qtbot, store, display, ("particulars", "lobes"))
    enter(qtbot, lobes.edit, "6")
    assert store.docket.particulars.lobes == 6 and isinstance(store.docket.particulars.lobes, int)
    enter(qtbot, lobes.edit, "5.5")
    assert "whole number" in lobes.said.text() and store.docket.particulars.lobes == 6
    title = make(TextField, qtbot, store, display, ("particulars", "title"))
    enter(qtbot, title.edit, "Launch")
    assert store.docket.particulars.title == "Launch"
    rotation = make(ChoiceField, qtbot, store, display, ("particulars", "rotation"))
    rotation.box.setCurrentIndex(2)  # after what is assumed
    rotation.box.activated.emit(2)
    assert store.docket.particulars.rotation == "anticlockwise"
    store.replace("Row", put(store.docket, READINGS, (Reading(),)))
    left_out = make(FlagField, qtbot, store, display, (*READINGS, 0, "left_out"))
    left_out.box.click()
    assert store.docket.sessions[0].readings[0].left_out
    store.undo_stack.undo()
    assert not left_out.box.isChecked()


# Tables -------------------------------------------------------------------------------------


@pytest.fixture
def table(qtbot, store, display):
    table = RecordTable(
        store, READINGS, KEYS, display, take=docket_taker("readings", store, display).paste
    )
    qtbot.addWidget(table)
    table.resize(700, 400)
    table.show()
    table.activateWindow()
    return table


def type_row(qtbot, speed: str, angle: str) -> None:
    """As at a running engine: speed, Tab, angle, Enter."""
    for text, key in ((speed, Qt.Key.Key_Tab), (angle, Qt.Key.Key_Return)):
        editor = QApplication.focusWidget()
        assert isinstance(editor, QLineEdit)
        qtbot.keyClicks(editor, text)
        qtbot.keyClick(editor, key)
        QApplication.processEvents()


def test_rows_typed_with_tab_and_enter(qtbot, store, table):
    table.view.setFocus()
    table.view.edit_cell(0, 0)
    for speed, angle in (("1000", "12"), ("1500", "16,5"), ("2000", "20")):
        type_row(qtbot, speed, angle)
    rows = store.docket.sessions[0].readings
    assert [(r.speed_rpm, r.angle_deg) for r in rows] == [(1000, 12), (1500, 16.5), (2000, 20)]
    assert table.view.currentIndex().row() == 3 and table.view.currentIndex().column() == 0


def test_typing_error_is_told_on_the_row_and_mended(qtbot, store, table):
    table.view.setFocus()
    table.view.edit_cell(0, 0)
    type_row(qtbot, "14x0", "12")
    assert store.docket.sessions[0].readings == () or (
        store.docket.sessions[0].readings[0].speed_rpm is None
    )
    model = table.model
    assert model.cell_text(0, 0) == "14x0"
    assert "Reading 1" in table.said.text() and "x0" in table.said.text()
    assert model.headerData(0, Qt.Orientation.Vertical) == "▲ 1"
    model.setData(model.index(0, 0), "1400")
    assert store.docket.sessions[0].readings[0].speed_rpm == 1400
    assert not table.said.isVisible()


def test_thousands_comma_is_asked_about(store, table):
    model = table.model
    assert not model.setData(model.index(0, 0), "1,250")
    assert "1250 or 1.25." in table.said.text()


def test_paste_keeps_good_lines_and_names_wrong_ones(qtbot, store, table, tables_agreed):
    QGuiApplication.clipboard().setText("1000\t12\n1500\tsixteen\n2000\t20\n")
    table.view.setFocus()
    qtbot.keyClick(table.view, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    rows = store.docket.sessions[0].readings
    assert [row.speed_rpm for row in rows] == [1000, 2000]
    assert "Line 2." in table.said.text() and "sixteen" in table.said.text()
    store.undo_stack.undo()
    assert store.docket.sessions[0].readings == ()


def test_insert_delete_clear(qtbot, store, table):
    rows = tuple(Reading(speed_rpm=s, angle_deg=10.0) for s in (1000.0, 2000.0, 3000.0))
    store.replace("Rows", put(store.docket, READINGS, rows))
    table.view.setCurrentIndex(table.model.index(1, 0))
    table.insert_row()
    table.view.closePersistentEditor(table.view.currentIndex())
    assert [r.speed_rpm for r in store.docket.sessions[0].readings] == [1000, None, 2000, 3000]
    table.view.selectRow(1)
    table.delete_rows()
    assert store.docket.sessions[0].readings == rows
    table.view.clearSelection()
    table.view.setCurrentIndex(table.model.index(2, 1))
    qtbot.keyClick(table.view, Qt.Key.Key_Delete)
    assert store.docket.sessions[0].readings[2].angle_deg is None
    for _ in range(3):
        store.undo_stack.undo()
    assert store.docket.sessions[0].readings == rows


def test_letter_chooses_and_tick_leaves_out(qtbot, store, table):
    store.replace("Rows", put(store.docket, READINGS, (Reading(speed_rpm=900.0, angle_deg=1.0),)))
    table.view.setCurrentIndex(table.model.index(0, KEYS.index("direction")))
    table.view.setFocus()
    qtbot.keyClick(table.view, Qt.Key.Key_F)
    assert store.docket.sessions[0].readings[0].direction == "falling"
    table.view.setCurrentIndex(table.model.index(0, KEYS.index("left_out")))
    qtbot.keyClick(table.view, Qt.Key.Key_Space)
    assert store.docket.sessions[0].readings[0].left_out


def test_refused_texts_move_with_their_rows(store, table):
    rows = tuple(Reading(speed_rpm=s, angle_deg=10.0) for s in (1000.0, 2000.0))
    store.replace("Rows", put(store.docket, READINGS, rows))
    table.model.setData(table.model.index(1, 0), "2000 apples")
    table.model.insert_row(0)
    assert table.model.cell_text(2, 0) == "2000 apples"
    table.model.remove_rows([0])
    assert table.model.cell_text(1, 0) == "2000 apples"
    table.model.drop_draft(1, 0)
    assert table.model.cell_text(1, 0) == "2000"


def test_depression_column_in_the_unit_shown(store, display, table):
    row = Reading(speed_rpm=1000.0, angle_deg=5.0, depression_kpa=33.86389)
    store.replace("Rows", put(store.docket, READINGS, (row,)))
    display.depression_unit = "inHg"  # 3.386389 kPa, NIST SP 811
    column = KEYS.index("depression_kpa")
    assert table.model.cell_text(0, column) == "10"
    assert "inHg" in table.model.header_text(column)
    table.model.setData(table.model.index(0, column), "5")
    assert store.docket.sessions[0].readings[0].depression_kpa == pytest.approx(5 * 3.386389)


@pytest.mark.parametrize(
    ("stored", "kpa", "inhg"),
    [
        (7 * 3.386389, "23.7", "7"),  # NIST SP 811 (2008), App. B.8
        (3.386389, "3.39", "1"),
        (23.75, "23.75", "7.01"),  # as typed in kPa: 23.75 / 3.386389 = 7.0133
        (100.325, "100.3", "29.6"),
    ],
)
def test_a_converted_value_is_rounded_and_a_typed_one_is_not(store, display, table, stored, kpa,
                                                            inhg):  # fmt: skip
    row = Reading(speed_rpm=1000.0, angle_deg=5.0, depression_kpa=stored)
    store.replace("Rows", put(store.docket, READINGS, (row,)))
    column = KEYS.index("depression_kpa")
    assert table.model.cell_text(0, column) == kpa
    display.depression_unit = "inHg"
    assert table.model.cell_text(0, column) == inhg
    assert store.docket.sessions[0].readings[0].depression_kpa == stored


def test_a_copied_cell_keeps_all_its_digits(store, table):
    row = Reading(speed_rpm=1000.0, angle_deg=5.0, depression_kpa=23.704723)
    store.replace("Rows", put(store.docket, READINGS, (row,)))
    table.view.selectRow(0)
    assert table.view.selected_text().split("\t")[:4] == ["1000", "5", "Not known", "23.704723"]


def test_a_field_shows_what_a_reader_needs(qtbot, store, display):
    field = make(NumberField, qtbot, store, display, RATE)
    enter(qtbot, field.edit, "3.2 lbf/in")
    assert field.edit.text() == "0.56"  # 3.2 × 0.175126835 = 0.560406
    assert field.value == pytest.approx(0.560406, rel=1e-6)
    assert field.commit() and field.value == pytest.approx(0.560406, rel=1e-6)
    limit = make(NumberField, qtbot, store, display, ("findings", "limits", "leak_loss_most_kpa"))
    assert limit.edit.text() == "3.39" and limit.value == pytest.approx(3.386)


def test_what_was_worked_out_is_rounded_as_the_bench_measures_everywhere(qapp):
    """0.01 mm of a calliper and 0.01 N of a balance (common practice): the field, the drawing and
    the tables say the same; what was typed stays as typed."""
    display, place = Display(), ("linkage", "link_mm")
    usual = next(t.mechanism for t in typical_mechanisms() if t.mechanism.linkage.kind == "link")
    unit = completed(usual).mechanism
    link_mm = round(unit.linkage.link_mm, 2) - 0.0049379
    unit = put(unit, place, link_mm)
    lines = form_lines(outcome(new_docket().with_changes(mechanism=unit)), completed(unit), display)
    assert written(5.8350621, LENGTH, "mm") == "5.84"
    assert amount_u(5.8350621, None, LENGTH, display) == "5.84\xa0mm"
    assert amount_u(0.9104142, None, FORCE, display) == "0.91\xa0N"
    assert amount_u(0.9104, None, FORCE, display) == "0.9104\xa0N"
    said = dict(zip((one.path for one in lines.dimensions), lines.words, strict=True))
    assert said[place] == f"{written(link_mm, LENGTH, 'mm')}\xa0mm" == f"{link_mm:.2f}\xa0mm"


def test_a_large_number_is_not_written_in_powers_of_ten():
    assert written(206000.0, STRESS, "MPa") == "206000"


def test_minus_is_a_sign_of_its_own_and_is_copied_as_others_read_it(qtbot, store, display, table):
    field = make(NumberField, qtbot, store, display, (*RATE[:-1], "post_angle_deg"))
    enter(qtbot, field.edit, "-75")
    assert field.value == -75.0 and field.edit.text() == "−75"
    field.edit.setText("−76")
    assert field.commit() and field.value == -76.0 and field.edit.text() == "−76"
    field.edit.selectAll()
    qtbot.keySequence(field.edit, QKeySequence.StandardKey.Copy)
    assert QGuiApplication.clipboard().text() == "-76"
    store.replace("Rows", put(store.docket, READINGS, (Reading(speed_rpm=500.0, angle_deg=-2.0),)))
    assert table.model.cell_text(0, 1) == "−2"
    table.view.selectRow(0)
    assert table.view.selected_text().split("\t")[1] == "-2"


def test_cells_are_plain_python_values(store, table):
    store.replace("Rows", put(store.docket, READINGS, (Reading(speed_rpm=900.0, angle_deg=1.0),)))
    for column in range(len(KEYS)):
        text = table.model.data(table.model.index(0, column))
        assert type(text) is str


def test_target_table_pastes_bands(qtbot, store, display, tables_agreed):
    path = ("target", "points")
    table = RecordTable(
        store, path, ("speed_rpm", "least_deg", "most_deg"), display,
        take=docket_taker("target", store, display).paste,
    )  # fmt: skip
    qtbot.addWidget(table)
    table.paste("1000 6 8\n1500 9 ± 1\n")
    assert store.docket.target.points == (
        CheckPoint(speed_rpm=1000.0, least_deg=6.0, most_deg=8.0),
        CheckPoint(speed_rpm=1500.0, least_deg=8.0, most_deg=10.0),
    )


def test_a_wide_form_flows_in_two_columns_and_back(qtbot) -> None:
    keys = plain_keys(Particulars)
    made = Form(Particulars, ("particulars",), keys, Store(new_docket()), Display())
    qtbot.addWidget(made)
    made.resize(400, 600)
    made.show()

    def lefts() -> int:
        return len({each.x() for each in made.fields.values() if each.isVisible()})

    assert lefts() == 1
    made.resize(1200, 600)
    qtbot.waitUntil(lambda: lefts() == 2)
    assert made.minimumSizeHint().width() < 500, "a page that shrinks is not held open"
    made.show_only(list(made.fields)[:5])
    qtbot.waitUntil(lambda: lefts() == 2)
    made.resize(400, 600)
    qtbot.waitUntil(lambda: lefts() == 1)
