"""Lobes, rotation, weights, drive and the pulley's way are unknown until entered: no page and no
print tells what is assumed of them as if somebody had found it."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QComboBox, QLabel

from bobweight.app.board.plan_paint import rotation_words
from bobweight.app.editors.choice import ChoiceField
from bobweight.app.editors.number import NumberField, WholeField
from bobweight.app.pages import PAGES
from bobweight.app.paper.output import describe
from bobweight.app.paper.words import worded
from bobweight.app.prints.kinds import KINDS, Asked
from bobweight.app.widgets.section import Section
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.findings import Findings
from bobweight.core.docket.mechanism import COUNT
from bobweight.core.docket.points import Points
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import get, is_assumed, parameter_at, put, taken, walk
from bobweight.core.sheet.description import Paragraph, Text
from bobweight.core.sheet.workshop import Workshop
from tests.samples import sample

LOBES, ROTATION = ("particulars", "lobes"), ("particulars", "rotation")
DRIVE, PULLEY = ("reassembly", "drive"), ("setting_up", "pulley_rotation")
ENTERED = {LOBES: 6, ROTATION: "anticlockwise", COUNT: 3, DRIVE: "gear", PULLEY: "anticlockwise"}
_TELLS = re.compile(
    r"\b(anti)?clockwise\b|\b\d+ lobes|\bdog off the axis|\bgear on the shaft", re.IGNORECASE
)


def with_the_rest() -> Docket:
    """All that is drawn and worked out by them is there, and they are not."""
    docket = sample("weak_primary").with_changes(
        reassembly=Reassembly(dog_offset_mm=1.2, dog_length_mm=13.0, dog_width_mm=3.2,
                              slot_deg=35.0),
        points=Points(flat_mm=7.5, lever_ratio=1.1, known_gap_mm=0.38, known_dwell_deg=60.0,
                      set_gap_mm=0.38),
        findings=Findings(side_play_mm=0.05, gap_mm=0.38, dwell_deg=58.0),
    )  # fmt: skip
    for path in ENTERED:
        docket = put(docket, path, None)
    return put(docket, ("setting_up", "pulley_mm"), 140.0)


def entered() -> Docket:
    docket = sample("weak_primary")
    for path, value in ENTERED.items():
        docket = put(docket, path, value)
    for path, _, value in list(walk(docket)):
        assumed = parameter_at(docket, path).assumed
        if value is None and assumed is not None:
            docket = put(docket, path, assumed)
    return put(docket, ("setting_up", "pulley_mm"), 140.0)


DOCKETS = {
    "empty": lambda: put(new_docket(), ("setting_up", "pulley_mm"), 140.0),
    "the rest entered": with_the_rest,
}


def printed(docket: Docket) -> dict[str, list[str]]:
    """The texts of the sheet and of every print, by its key."""
    found = outcome(docket)
    asked = Asked(found, view_of(docket), "a4", Workshop())
    made = {"sheet": describe(found)}
    for key, kind in KINDS.items():
        if key != "card" or found.prediction is not None:  # the card is of a curve
            made[key] = kind.describe(asked, kind.asks(docket) if kind.asks else None)
    return {
        key: [
            worded(element.text)
            for page in one.pages for element in page.elements
            if isinstance(element, Text | Paragraph)
        ]
        for key, one in made.items()
    }  # fmt: skip


def shown(window, key: str) -> list[str]:
    """The texts of a page with each part of it open, and what its boxes have chosen."""
    window.show_page(key)
    page = window.stack.page(key)
    found: list[str] = []
    for section in (None, *page.findChildren(Section)):  # a page closes what it has no room for
        if section is not None:
            section.set_open(True)
        for kind, text in (
            (QLabel, QLabel.text), (QAbstractButton, QAbstractButton.text),
            (QComboBox, QComboBox.currentText),
        ):  # fmt: skip
            found += [text(w) for w in page.findChildren(kind) if w.isVisibleTo(page)]
    return found


def as_facts(texts: list[str]) -> list[str]:
    """What tells of one of them without saying that it is assumed, a line at a time."""
    lines = [line for text in texts for line in text.splitlines()]
    return [line for line in lines if _TELLS.search(line) and "assumed" not in line.lower()]


@pytest.mark.parametrize("name", DOCKETS)
def test_no_page_tells_as_a_fact_what_nobody_entered(name, window):
    docket = DOCKETS[name]()
    window.store.open_docket(docket, None)
    window.feed.tell()
    texts = {entry.key: shown(window, entry.key) for entry in PAGES}
    assert not {key: told for key, found in texts.items() if (told := as_facts(found))}
    findings, setting = ("\n".join(texts[key]) for key in ("findings", "setting_up"))
    assert "usual: 45 to 63° (for 4 lobes, assumed)" in findings  # common practice for four
    assert "Usual with 4 lobes (assumed)" in setting
    if name != "empty":
        assert "(for 4 lobes, assumed)" in next(t for t in texts["findings"] if "Costs" in t)
        assert "what follows is for 4 lobes, which is assumed" in setting
        assert "△ Which way it turns was not entered" in "\n".join(texts["reassembly"])
    for field in window.findChildren(ChoiceField):
        if field.path in ENTERED:
            assert field.box.currentText().startswith("Assumed: "), field.path
            assert field.box.property("assumed") is True
    counts = [f for f in window.findChildren(WholeField) if f.path in ENTERED]
    assert {f.path for f in counts} == {LOBES, COUNT}
    for field in counts:
        assert (field.edit.text(), field.unit_label.text()) == ("", "assumed")
        usual = parameter_at(docket, field.path).assumed
        assert field.edit.placeholderText() == str(usual)
        assert f"{usual} assumed" in field.edit.accessibleDescription()
    assert "assumed" in rotation_words(docket)


@pytest.mark.parametrize("name", DOCKETS)
def test_no_print_tells_as_a_fact_what_nobody_entered(name):
    made = printed(DOCKETS[name]())
    tape = "\n".join(made.pop("tape"))
    # how the tape is laid speaks of the arrow; that the arrow is assumed stands before it
    assert tape.index("△ Check first") < tape.index("Cut along the outline")
    assert "turns clockwise (assumed)" in tape and "? assumed to turn this way" in tape
    assert "the pulley turns this way" not in tape
    ring = made["ring"]
    assert "clockwise (assumed: check first)" in ring and "assumed" in ring  # beside the arrow
    for key, texts in made.items():
        assert not as_facts(texts), key
    text = "\n".join(made["sheet"])
    if name != "empty":
        assert "2 (assumed)" in text and text.count("not entered") >= 2
        assert "△ Which way it turns was not entered" in "\n".join(made["steps"])


def test_what_was_entered_is_told_plainly(window):
    docket = entered()
    made = printed(docket)
    assert not [text for texts in made.values() for text in texts if "assumed" in text.lower()]
    assert {"6", "Anticlockwise", "3"} <= set(made["sheet"])
    assert as_facts(made["tape"]) and as_facts(made["ring"]) and as_facts(made["steps"])
    assert "turns anticlockwise" in made["tape"] and "anticlockwise" in made["ring"]
    window.store.open_docket(docket, None)
    window.feed.tell()
    said = "\n".join(shown(window, "reassembly"))
    assert "turns anticlockwise with 6 lobes" in said and "Gear on the shaft" in said
    assert "assumed" not in "\n".join(shown(window, "particulars")).lower()
    assert rotation_words(docket) == "turns anticlockwise"


def test_choosing_and_clearing_are_edits_that_can_be_undone(window, qtbot):
    window.show_page("particulars")
    store = window.store
    turns = next(f for f in window.findChildren(ChoiceField) if f.path == ROTATION)
    lobes = next(f for f in window.findChildren(WholeField) if f.path == LOBES)
    turns.box.setCurrentIndex(turns.box.findData("clockwise"))
    turns.box.activated.emit(turns.box.currentIndex())
    assert get(store.docket, ROTATION) == "clockwise" and turns.box.currentText() == "Clockwise"
    assert not turns.box.property("assumed")
    qtbot.keyClicks(lobes.edit, "4")
    assert lobes.unit_label.text() == ""  # from the first key
    qtbot.keyClick(lobes.edit, Qt.Key.Key_Return)
    assert get(store.docket, LOBES) == 4 and not is_assumed(store.docket.particulars, "lobes")
    lobes.edit.clear()
    qtbot.keyClick(lobes.edit, Qt.Key.Key_Return)
    turns.box.setCurrentIndex(0)
    turns.box.activated.emit(0)
    assert (get(store.docket, LOBES), get(store.docket, ROTATION)) == (None, None)
    for _ in range(2):
        store.undo_stack.undo()
    assert (get(store.docket, LOBES), get(store.docket, ROTATION)) == (4, "clockwise")
    for _ in range(2):
        store.undo_stack.undo()
    assert (get(store.docket, LOBES), get(store.docket, ROTATION)) == (None, None)
    assert turns.box.property("assumed") and lobes.unit_label.text() == "assumed"


def test_a_file_keeps_what_it_states_and_what_it_leaves_open():
    for docket in (new_docket(), entered()):
        again = docket_from_text(docket_to_text(docket))
        assert [get(again, path) for path in ENTERED] == [get(docket, path) for path in ENTERED]
    old = docket_from_text(
        '{"schema": 2, "particulars": {"lobes": 4}, "mechanism": {"weights": {}}}'
    )
    assert old.particulars.lobes == 4 and not is_assumed(old.particulars, "lobes")
    assert old.particulars.rotation is None and old.mechanism.weights.count is None


def test_what_is_taken_is_what_most_units_have():
    """Common practice: four cylinders, clockwise as seen on the cap, two weights, an offset dog."""
    usual = {LOBES: 4, ROTATION: "clockwise", COUNT: 2, DRIVE: "offset-dog", PULLEY: "clockwise"}
    docket = new_docket()
    for path, value in usual.items():
        record = get(docket, path[:-1])
        assert taken(record, path[-1]) == value and is_assumed(record, path[-1])
        stated = put(docket, path, ENTERED[path])
        record = get(stated, path[:-1])
        assert taken(record, path[-1]) == ENTERED[path] and not is_assumed(record, path[-1])


TAKEN = {
    ("particulars", "drive_ratio"): 2.0,
    ("particulars", "backlash_deg"): 0.0,
    ("setting_up", "altitude_m"): 0.0,
}


def test_figures_that_are_taken_look_so_and_decide_as_if_they_were_stated(window):
    """Four-stroke, no backlash, the sea's level: common practice."""
    stated = sample("weak_primary")
    blank = stated
    for path, value in TAKEN.items():
        stated, blank = put(stated, path, value), put(blank, path, None)
    assert decide_docket(blank).as_fields() == decide_docket(stated).as_fields()
    again = docket_from_text(docket_to_text(blank))
    assert [get(again, path) for path in TAKEN] == [None] * len(TAKEN)
    told, plainly = printed(blank), printed(stated)
    for key in ("sheet", "card"):  # all angles at the crank go by it
        assert "2 (assumed)" in told[key] and "2 (assumed)" not in plainly[key]
    for docket, assumed in ((blank, True), (stated, False)):
        window.store.open_docket(docket, None)
        window.feed.tell()
        for key in ("particulars", "setting_up"):
            window.show_page(key)
        fields = {f.path: f for f in window.findChildren(NumberField) if f.path in TAKEN}
        assert set(fields) == set(TAKEN)
        for path, field in fields.items():
            assert bool(field.edit.property("assumed")) == assumed, path
            shown = field.edit.placeholderText() if assumed else field.edit.text()
            assert shown == f"{TAKEN[path]:g}" and bool(field.edit.text()) != assumed
            assert ("Not entered" in field.edit.accessibleDescription()) == assumed
    ratio = fields["particulars", "drive_ratio"]
    ratio.edit.setText("")
    assert ratio.commit() and ratio.edit.property("assumed") and ratio.unit_label.text()


def test_usual_driving_states_look_assumed_till_they_are_altered(window):
    window.store.open_docket(new_docket(), None)
    window.show_page("setting_up")
    model = window.page("setting_up").states.states.model

    def looks() -> list[bool]:
        roles = Qt.ItemDataRole
        found = []
        for row in range(len(model.records())):
            font = model.data(model.index(row, 0), roles.FontRole)
            tip = model.data(model.index(row, 0), roles.ToolTipRole)
            found.append(font is not None and font.italic())
            assert found[-1] == ("not entered" in tip)
        return found

    assert looks() == [True] * 5
    window.store.edit("Speed", ("setting_up", "states", 1, "engine_rpm"), 750.0)
    assert looks() == [True, False, True, True, True]


def test_a_static_that_nobody_set_looks_assumed_and_a_nought_typed_does_not(window):
    window.store.open_docket(new_docket(), None)
    window.show_page("readings")
    page, path = window.page("readings"), ("sessions", 0, "instrument", "static_deg")

    def assumed() -> bool:
        window.feed.tell()
        field = next(f for f in page.findChildren(NumberField) if f.path == path)
        told = "0° (assumed)" in page.summary.text().replace("\u00a0", " ")
        assert told == bool(field.edit.property("assumed")) == (not field.edit.text())
        return told

    assert assumed()
    window.store.edit("Static", path, 8.0)
    assert not assumed()
    window.store.edit("Static", path, 0.0)
    assert not assumed(), "nought, entered, with nothing said of how sure it is"
    window.store.edit("Static", path, None)
    assert assumed()
    window.store.edit("Rig", (*path[:-1], "kind"), "rig")
    assert assumed(), "nobody said where the ring of the rig stands"
