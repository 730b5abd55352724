"""The tray: kept beside the settings with a docket's care, its own undo, and its list on paper."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from bobweight.app.messages import edit_name, place_text, sentence
from bobweight.app.pages.springs.acts import docket_springs
from bobweight.app.paper.type import FontRuler
from bobweight.app.paper.words import worded
from bobweight.app.store.tray_store import FILE_NAME, TrayStore
from bobweight.core.design.fitted import with_spring_as
from bobweight.core.design.tray import Tray, TraySpring, tray_problems
from bobweight.core.design.tray_file import read_tray, write_tray
from bobweight.core.docket.mechanism import Mechanism, Spring
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.sheet.description import Text
from bobweight.core.sheet.tray_list import STRIP_MM, tray_list

A1 = TraySpring(label="A1", count=2, rate_n_per_mm=0.9, free_length_mm=19.0,
                u={"rate_n_per_mm": 0.02})  # fmt: skip
B2 = TraySpring(label="B2", rate_n_per_mm=11.0, initial_tension_n=2.0, free_length_mm=17.5)


@pytest.fixture
def make(qapp, own_home) -> Iterator:
    made: list[TrayStore] = []

    def make() -> TrayStore:
        made.append(TrayStore())
        return made[-1]

    yield make
    for tray in made:
        tray.close()


def add(tray: TrayStore, *springs: TraySpring) -> None:
    tray.replace("Add", put(tray.tray, ("springs",), (*tray.tray.springs, *springs)))


def test_kept_and_read_again(make, own_home):
    tray = make()
    assert tray.tray == Tray() and not (own_home / FILE_NAME).exists()
    add(tray, A1, B2)
    tray.write()
    assert read_tray(own_home / FILE_NAME) == tray.tray
    assert make().tray == tray.tray


def test_written_by_itself_a_moment_later(make, own_home, qtbot):
    tray = make()
    add(tray, A1)
    qtbot.waitUntil((own_home / FILE_NAME).exists, timeout=5000)
    assert read_tray(own_home / FILE_NAME).springs == (A1,)


def test_undo_is_its_own_and_reaches_the_disk(make, own_home):
    tray = make()
    add(tray, A1)
    tray.edit("Rate", ("springs", 0, "rate_n_per_mm"), 1.1)
    tray.write()
    tray.undo_stack.undo()
    assert tray.tray.springs == (A1,), "value and uncertainty come back together"
    tray.write()
    assert read_tray(own_home / FILE_NAME).springs == (A1,)
    with pytest.raises(BobweightError):
        tray.edit("Rate", ("springs", 0, "rate_n_per_mm"), -1.0)
    assert tray.tray.springs == (A1,)


@pytest.mark.parametrize("text", ["{ half a file", '{"schema": 1}', ""])
def test_a_file_that_cannot_be_read_is_never_written_over(make, own_home, text):
    path = own_home / FILE_NAME
    path.write_text(text, encoding="utf-8")
    tray = make()
    assert tray.trouble is not None
    assert "…" not in sentence(tray.trouble, tray.tray)
    add(tray, A1)
    tray.write()
    assert path.read_text(encoding="utf-8") == text
    moved = tray.keep_this()
    assert tray.trouble is None and moved.read_text(encoding="utf-8") == text
    assert read_tray(path).springs == (A1,)


def test_a_file_altered_meanwhile_is_told_and_can_be_taken(make, own_home):
    tray, path = make(), own_home / FILE_NAME
    add(tray, A1)
    tray.write()
    write_tray(Tray(springs=(B2,)), path)
    add(tray, A1)
    told = []
    tray.trouble_changed.connect(lambda: told.append(tray.trouble))
    tray.write()
    assert told[0].code == "tray-changed-elsewhere"
    assert read_tray(path).springs == (B2,), "what the other program wrote stands"
    tray.take_from_disk("Read")
    assert tray.trouble is None and tray.tray.springs == (B2,)
    tray.undo_stack.undo()
    assert tray.tray.springs == (A1, A1), "taking it can be undone"


def test_a_folder_that_cannot_be_written_is_told(make, own_home, monkeypatch):
    tray = make()
    add(tray, A1)

    def refuse(_tray: Tray, _path: Path) -> None:
        raise BobweightError("file-not-writable", (), reason="no room")

    monkeypatch.setattr("bobweight.app.store.tray_store.write_tray", refuse)
    tray.write()
    assert tray.trouble.code == "file-not-writable"
    monkeypatch.undo()
    tray.keep_this()
    assert tray.trouble is None
    assert read_tray(tray.path).springs == (A1,)


def test_names_of_places_and_edits(qapp):
    tray = Tray(springs=(A1, TraySpring()))
    path = ("springs", 0, "source", "coil", "wire_mm")
    assert place_text(path, tray) == "Spring “A1”, wire"
    assert edit_name(("springs", 1, "rate_n_per_mm"), tray, 1.25) == (
        "Spring 2, rate 1.25\u00a0N/mm"
    )


def test_every_problem_of_a_tray_has_its_sentence(qapp):
    tray = Tray(springs=(A1, A1, TraySpring(label="C", rate_n_per_mm=300.0)))
    said = [sentence(problem, tray) for problem in tray_problems(tray)]
    assert any("“A1” is also the label of row 1" in text for text in said)
    assert any("Spring “C”, free length is not known yet" in text for text in said)
    assert not any("…" in text for text in said)


# Docket and tray ----------------------------------------------------------------------------


def test_docket_springs_come_as_entries_with_twins_counted(demo):
    heavy = Spring(role="secondary", rate_n_per_mm=9.0, free_length_mm=18.0)
    mechanism = Mechanism(springs=(Spring(label="X", rate_n_per_mm=1.0, free_length_mm=20.0), heavy,
                                   heavy, Spring()))  # fmt: skip
    found = docket_springs(mechanism, ())
    assert [(s.label, s.count) for s in found] == [("X", 1), ("Secondary", 2)]
    assert docket_springs(mechanism, found) == (), "they are there already"


def test_a_spring_goes_into_every_place_of_its_role(demo):
    docket = with_spring_as(demo, B2, "secondary")
    old, new = demo.mechanism.springs[1], docket.mechanism.springs[1]
    assert new.rate_n_per_mm == 11.0 and new.label == "B2"
    for key in ("post_radius_mm", "post_angle_deg", "peg_radius_mm", "slack_mm", "role"):
        assert getattr(new, key) == getattr(old, key)
    assert docket.mechanism.springs[0] == demo.mechanism.springs[0]
    empty = put(demo, ("mechanism", "springs"), ())
    made = with_spring_as(empty, A1, "primary").mechanism.springs
    assert [s.role for s in made] == ["primary", "secondary"], "the other that is assumed stays"
    assert made[0].u["rate_n_per_mm"] == 0.02 and made[1].rate_n_per_mm is None


# On paper -----------------------------------------------------------------------------------


def texts(description) -> list[tuple[int, float, float, str]]:
    return [
        (number, element.x_mm, element.y_mm, worded(element.text))
        for number, page in enumerate(description.pages)
        for element in page.elements
        if isinstance(element, Text)
    ]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("count", [0, 1, 2, 31, 200])
def test_list_and_labels_hold_every_spring_within_the_page(qapp, paper, count):
    springs = tuple(
        A1.with_changes(label=f"S{n}", rate_n_per_mm=0.5 + n / 100) for n in range(count)
    )
    description = tray_list(Tray(springs=springs), paper, FontRuler())
    found = texts(description)
    for n in range(count):
        assert sum(text == f"S{n}" for *_, text in found) == 2, "once in the list, once on a label"
    for page in description.pages:
        low = page.height_mm - page.margin_mm
        for _, x, y, text in texts(type(description)("", paper, (page,))):
            assert page.margin_mm - 0.01 <= x <= page.width_mm - page.margin_mm + 0.01, text
            assert page.margin_mm <= y <= low + 0.01, text
    assert any(text == f"Page 1 of {len(description.pages)}" for *_, text in found)


def test_labels_do_not_run_into_one_another(qapp):
    springs = tuple(A1.with_changes(label=f"A very long label, number {n}") for n in range(7))
    description = tray_list(Tray(springs=springs), "a4", FontRuler())
    for page in description.pages:
        for element in page.elements:
            if isinstance(element, Text) and element.size_pt == 13.0:
                assert element.room_mm <= STRIP_MM[0] - 10.0


def test_a_tray_without_uncertainties_prints_none(qapp):
    description = tray_list(Tray(springs=(B2,)), "a4", FontRuler())
    said = [text for *_, text in texts(description)]
    assert "11 N/mm" in said and not any("11 ±" in text for text in said)
