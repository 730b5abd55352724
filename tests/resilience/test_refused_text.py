"""What was typed and refused, or is not taken yet, is never dropped without a word."""

from __future__ import annotations

from PySide6.QtWidgets import QLineEdit

from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.core.docket.file import read_docket
from bobweight.core.docket.target import CheckPoint
from bobweight.core.record import put


def field_of(window, page, path):
    window.show_page(page)
    fields = window.page(page).findChildren(NumberField)
    return next(field for field in fields if field.path == path)


def test_a_refused_number_is_asked_about_before_the_window_closes(window, answers):
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    field.edit.setText("twelve")
    assert not window.close()
    assert answers.asked == ["refused"]
    assert field.edit.text() == "twelve" and field.said.text()
    answers.leave = "discard"
    assert window.close()


def test_a_refused_number_on_a_page_out_of_sight_is_shown_again(window, answers):
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    field.edit.setText("twelve")
    window.show_page("particulars")
    window.files.new()
    assert answers.asked == ["refused"]
    assert window.strip.current_key() == "mechanism" and field.isVisible()


def test_a_number_being_typed_is_taken_before_it_is_asked_whether_to_save(window, answers):
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    field.edit.setText("11.25")
    assert not window.close()
    assert answers.asked == ["unsaved"] and window.store.docket.mechanism.stop_deg == 11.25


def test_an_uncertainty_being_typed_is_saved_too(window, answers, tmp_path):
    answers.path = tmp_path / "mine.docket"
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    field.edit.setText("11")
    field.commit()
    field.u_edit.setText("0.3")
    assert window.files.save()
    assert read_docket(answers.path).mechanism.u == {"stop_deg": 0.3}


def test_a_refused_cell_is_asked_about_before_the_window_closes(window, answers):
    point = CheckPoint(speed_rpm=800.0, least_deg=1.0, most_deg=3.0)
    window.store.replace("Point", put(window.store.docket, ("target", "points"), (point,)))
    window.store.undo_stack.setClean()
    window.show_page("target")
    model = next(
        table.model for table in window.page("target").findChildren(RecordTable)
        if table.model.path == ("target", "points")
    )  # fmt: skip
    model.setData(model.index(0, 1), "about two")
    assert [each.text for each in window.typed()] == ["about two"]
    assert not window.close() and answers.asked[-1] == "refused"
    answers.leave = "discard"
    assert window.close()


def test_what_is_sought_in_the_list_of_fields_is_nobodys_loss(window, answers):
    """A search is no work: closing does not ask about it."""
    finder = QLineEdit(window)
    finder.setText("stop")
    finder.setModified(True)
    window._watch(finder)
    assert window.close() and answers.asked == []
