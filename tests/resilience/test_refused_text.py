"""What was typed and refused, or is not taken yet, is never dropped without a word."""

from __future__ import annotations

from PySide6.QtWidgets import QLineEdit

from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.core.docket.file import read_docket
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.docket.target import CheckPoint
from bobweight.core.record import put
from tests.app.conftest import SAMPLES


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


def test_a_page_is_not_done_while_a_refused_text_stands_on_it(window):
    """Whatever the docket says, which keeps the old value: the strip is what is looked at."""
    window.store.open_docket(read_docket(SAMPLES / "weak_primary.docket"), None)
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    window.stack.load_all()
    window.feed.tell()
    assert window.strip.state_of("mechanism") == "done"
    field.edit.setText("twelve")
    field.commit()
    assert window.strip.state_of("mechanism") == "wrong"
    window.store.replace("Owner", put(window.store.docket, ("particulars", "owner"), "B. Wren"))
    window.feed.tell()
    assert window.strip.state_of("mechanism") == "wrong"  # another edit leaves it there
    field.edit.setText("12")
    field.commit()
    window.feed.tell()
    assert window.strip.state_of("mechanism") == "done"
    window.show_page("target")
    points = window.page("target").findChildren(RecordTable)
    model = next(t.model for t in points if t.model.path == ("target", "points"))
    window.feed.tell()
    before, cell = window.strip.state_of("target"), model.index(0, 0)
    model.setData(cell, "twelve")
    assert window.strip.state_of("target") == "wrong" != before
    model.setData(cell, "600")
    window.feed.tell()
    assert window.strip.state_of("target") == before


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


def two_sessions(window):
    readings = (Reading(speed_rpm=1000.0), Reading(speed_rpm=2000.0))
    sessions = tuple(Session(title=name, readings=readings) for name in ("one", "two"))
    window.store.replace("x", put(window.store.docket, ("sessions",), sessions))
    window.store.undo_stack.setClean()
    window.show_page("readings")
    window.display.session = 0
    page = window.page("readings")
    page.follow()
    return page, page.table.model


def test_a_refused_cell_is_there_again_when_its_session_is_shown_again(window, answers):
    page, model = two_sessions(window)
    cell = model.index(1, model.keys.index("speed_rpm"))
    model.setData(cell, "about two thousand")
    window.display.session = 1
    page.follow()
    assert model.path[1] == 1 and model.data(cell) != "▲ about two thousand"
    assert [(each.path[1], each.text) for each in window.typed()] == [(0, "about two thousand")]
    assert not window.close() and answers.asked == ["refused"]
    assert model.path[1] == 0 and model.data(cell) == "▲ about two thousand"
    assert "about two thousand" not in page.table.said.text() or page.table.said.isVisibleTo(page)


def test_a_refused_cell_goes_with_its_session_and_not_into_another_docket(window, answers):
    page, model = two_sessions(window)
    window.display.session = 1
    page.follow()
    model.setData(model.index(0, model.keys.index("speed_rpm")), "fast")
    sessions = window.store.docket.sessions
    window.store.replace("Remove", put(window.store.docket, ("sessions",), sessions[1:]))
    assert [(each.path[1], each.text) for each in window.typed()] == [(0, "fast")]
    window.store.undo_stack.undo()
    assert [(each.path[1], each.text) for each in window.typed()] == [(1, "fast")]
    window.store.open_docket(window.store.docket, None)
    assert window.typed() == []


def test_a_refused_number_of_a_session_is_there_again_too(window, answers):
    page, _model = two_sessions(window)
    window.show_page("readings")
    fields = [f for f in page.findChildren(NumberField) if f.path[:2] == ("sessions", 0)]
    field = fields[0]
    field.edit.setText("twelve")
    window.display.session = 1
    page.follow()
    assert field.path[1] == 1 and field.edit.text() != "twelve"
    assert [(each.path[1], each.text) for each in window.typed()] == [(0, "twelve")]
    window.display.session = 0
    page.follow()
    assert field.edit.text() == "twelve" and field.said.text()
    window.store.open_docket(window.store.docket, None)
    assert window.typed() == [] and field.edit.text() != "twelve"


def test_a_refused_number_outlives_a_change_of_units_and_frame(window, answers):
    field = field_of(window, "mechanism", ("mechanism", "stop_deg"))
    field.edit.setText("twelve")
    field.commit()
    window.display.frame = "crank"
    assert field.edit.text() == "twelve" and field.said.text()
    window.display.frame = "distributor"
    assert [each.text for each in window.typed()] == ["twelve"]


def test_a_refused_uncertainty_leaves_its_figure_through_a_change_of_units(window):
    """And the other way round: the figure beside what was typed is in the unit now shown."""
    window.store.open_docket(read_docket(SAMPLES / "weak_primary.docket"), None)
    field = next(
        f for f in field_of_all(window) if f.u_edit is not None and f.symbol == "mm" and f.value
    )
    path, stored = field.path, (field.value, field.u)
    for edit, typed in ((field.u_edit, "little"), (field.edit, "much")):
        edit.setText(typed)
        field.commit()
        window.display.set_unit("length", "thou")
        assert edit.text() == typed
        shown = field._shown_text if edit is field.u_edit else field._shown_u_text
        assert (field.edit if edit is field.u_edit else field.u_edit).text() == shown
        field.commit()
        edit.setText(field._shown_text if edit is field.edit else field._shown_u_text)
        field.commit()
        window.display.set_unit("length", "mm")
        assert field.path == path and (field.value, field.u) == stored


def field_of_all(window):
    window.show_page("mechanism")
    return window.page("mechanism").findChildren(NumberField)
