"""What is said of a field beside it and to the ear follows the docket and the units shown."""

from __future__ import annotations

from dataclasses import replace

from bobweight.app.editors.field import Field
from bobweight.app.editors.number import NumberField
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.record import put


def field_at(page, path) -> Field:
    return next(each for each in page.findChildren(NumberField) if each.path == path)


def test_the_tip_of_the_label_has_the_unit_shown(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("mechanism")
    field = field_at(window.page("mechanism"), ("mechanism", "weights", "mass_g"))
    label = field._beside
    assert label.buddy() is field.edit and "150\u00a0g" in label.toolTip()
    window.display.set_unit("mass", "oz")
    assert "oz.\n" in label.toolTip() and label.toolTip() == field.edit.toolTip()


def test_the_ear_is_told_the_shaft_that_the_eye_is(qtbot, window, demo):
    window.store.open_docket(demo, None)
    window.show_page("readings")
    path = ("sessions", 0, "instrument", "u_angle_deg")
    field = field_at(window.page("readings"), path)
    for kind, shaft in (("rig", "dist. °"), ("lamp", "crank °")):
        window.store.edit("x", ("sessions", 0, "instrument", "kind"), kind)
        qtbot.waitUntil(lambda shaft=shaft: field.unit_label.text() == shaft)
        assert field.edit.accessibleName().endswith(f"({shaft})")


def test_a_capsule_is_numbered_once_there_is_another(qtbot, window, demo):
    one = Capsule(given_as="triple", start_kpa=1.0, full_kpa=40.0, full_deg=8.0)
    window.store.open_docket(put(demo, ("capsules",), (one,)), None)
    window.show_page("vacuum")
    page = window.page("vacuum")
    field = field_at(page, ("capsules", 0, "start_kpa"))
    assert field.edit.accessibleName().startswith("Capsule, starts at")
    assert field.said.text().startswith("△ Capsule, starts at")
    page.add_capsule()
    assert field.edit.accessibleName().startswith("Capsule 1, starts at")
    assert field.said.text().startswith("△ Capsule 1, starts at")


def test_a_session_is_called_by_its_title(window, demo):
    twice = replace(demo, sessions=(*demo.sessions, demo.sessions[0]))
    window.store.open_docket(twice, None)
    window.display.session = 0
    window.show_page("readings")
    field = field_at(window.page("readings"), ("sessions", 0, "instrument", "u_angle_deg"))
    window.store.edit("x", ("sessions", 0, "title"), "Before lunch")
    assert "“Before lunch”" in field.edit.accessibleName()


def test_a_spring_is_numbered_once_another_is_of_its_role(window, demo):
    window.store.open_docket(demo, None)
    window.show_page("mechanism")
    page = window.page("mechanism")
    field = field_at(page, ("mechanism", "springs", 0, "rate_n_per_mm"))
    assert field.edit.accessibleName().startswith("Primary spring, ")
    window.store.edit("x", ("mechanism", "springs", 1, "role"), "primary")
    assert field.edit.accessibleName().startswith("Primary spring 1, ")
