"""The Springs page: measuring, searching, ordering, tolerances, learning, each act one edit."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QWidget

from bobweight.app.pages.mechanism import MechanismPage
from bobweight.app.pages.springs import SpringsPage
from bobweight.app.pages.springs.page import PARTS
from bobweight.app.pages.springs.search_part import passes
from bobweight.app.pages.springs.tolerances import shares, slider_place, slider_u
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.tray_store import FILE_NAME
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.core.design.measured_spring import (
    coil_view,
    hang_view,
    taken_from_coil,
    taken_from_hang,
)
from bobweight.core.design.search import WORKS
from bobweight.core.design.spread import Uncertain
from bobweight.core.design.tolerance import Influence
from bobweight.core.design.tray import TraySpring
from bobweight.core.design.tray_file import read_tray
from bobweight.core.docket.spring_source import CoilRecord, HangRow, HangTestRecord, SpringSource
from bobweight.core.figure.overlay import Overlay
from bobweight.core.figure.view import View
from bobweight.core.mechanics.predict import predict
from bobweight.core.record import put
from tests.waiting import PATIENCE_MS

pytestmark = pytest.mark.usefixtures("told_at_once")

_N_PER_LBF, _MM_PER_IN, _MPA_PER_KPSI = 4.4482216, 25.4, 6.894757


@pytest.fixture
def page(qtbot, store) -> Iterator[SpringsPage]:
    display = Display()
    page = SpringsPage(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(page)
    page.resize(520, 760)
    page.show()
    page.activateWindow()
    qtbot.waitUntil(page.isActiveWindow)
    yield page
    page.close_down()


def fill(page: SpringsPage, *springs: TraySpring) -> None:
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), springs))


def good_tray(store: Store) -> tuple[TraySpring, ...]:
    """The springs that the best ones of the demo's maker would have been, among others."""
    return (
        TraySpring(label="light", count=2, rate_n_per_mm=2.49, free_length_mm=23.56,
                   u={"rate_n_per_mm": 0.03}),
        TraySpring(label="heavy", count=2, rate_n_per_mm=11.0, initial_tension_n=0.68,
                   free_length_mm=24.96, u={"rate_n_per_mm": 0.1}),
        TraySpring(label="soft", count=1, rate_n_per_mm=0.9, free_length_mm=22.0),
    )  # fmt: skip


# Known three ways ---------------------------------------------------------------------------


def hung(pairs, **more) -> HangTestRecord:
    rows = tuple(HangRow(load_n=load, length_mm=length) for load, length in pairs)
    return HangTestRecord(rows=rows, **more)


def test_hang_test_gives_back_the_law_it_was_made_by():
    """L = L_f + (F − F_i)/k above the initial tension (Shigley, section 10-1)."""
    k, f_i, l_f = 1.25, 0.8, 20.0
    loads = np.arange(0.0, 5.1, 0.5)
    lengths = l_f + np.maximum(loads - f_i, 0.0) / k + 0.003 * np.sin(7 * loads)
    view = hang_view(hung(zip(loads, lengths, strict=True)))
    made = taken_from_hang(TraySpring(), view.result)
    assert made.rate_n_per_mm == pytest.approx(k, abs=3 * made.u["rate_n_per_mm"])
    assert made.initial_tension_n == pytest.approx(f_i, abs=3 * made.u["initial_tension_n"])
    assert made.free_length_mm == pytest.approx(l_f, abs=3 * made.u["free_length_mm"])
    assert made.source.known_from == "hang"


def test_rows_left_out_keep_the_others_places():
    pairs = [(0.0, 20.0), (1.0, 20.4), (2.0, 25.0), (3.0, 22.0), (4.0, 22.8), (5.0, 23.6)]
    record = hung(pairs)
    view = hang_view(record)
    assert any(p.code == "outlying-reading" and p.path == ("rows", 2) for p in view.problems)
    out = put(record, ("rows", 2, "left_out"), True)
    view = hang_view(out)
    assert view.rows == (0, 1, 3, 4, 5) and not view.result.flagged.any()


def test_a_free_length_known_otherwise_gives_the_tension():
    """F_i = k·L_f − offset: all readings on the line of k 2, F_i 3, L_f 15."""
    loads = np.array([4.0, 5.0, 6.0, 7.0])
    lengths = 15.0 + (loads - 3.0) / 2.0 + np.array([0.002, -0.002, 0.002, -0.001])
    result = hang_view(hung(zip(loads, lengths, strict=True))).result
    assert result.initial_tension_n is None
    made = taken_from_hang(TraySpring(free_length_mm=15.0, u={"free_length_mm": 0.1}), result)
    assert made.initial_tension_n == pytest.approx(3.0, abs=0.05)
    assert made.u["initial_tension_n"] == pytest.approx(0.2, rel=0.2), "k times 0.1 mm"
    assert made.free_length_mm == 15.0
    bare = taken_from_hang(TraySpring(), result)
    assert bare.free_length_mm is None and bare.rate_n_per_mm == pytest.approx(2.0, rel=0.01)


def test_dimensions_against_a_textbook():
    """Shigley, 9th ed., Ex. 10-6 (inputs seen, answers memory, recomputed): k 17.91 lbf/in;
    at 5.25 lbf the body is at 82.0 kpsi (Bergsträsser), the hook at 156.9 in bending."""
    d, outside = 0.035 * _MM_PER_IN, 0.248 * _MM_PER_IN
    coil = CoilRecord(wire_mm=d, mean_diameter_mm=outside - d, body_coils=12.17,
                      material="hard-drawn", hook_rule="moduli",
                      shear_modulus_mpa=11.6e3 * _MPA_PER_KPSI)  # fmt: skip
    tension = 1.19 * _N_PER_LBF
    spring = TraySpring(initial_tension_n=tension, free_length_mm=0.817 * _MM_PER_IN,
                        source=SpringSource(coil=coil))  # fmt: skip
    view = coil_view(spring, (0.817 + 0.227) * _MM_PER_IN)
    per_in = view.rate_n_per_mm * _MM_PER_IN / _N_PER_LBF
    assert per_in == pytest.approx(17.907, rel=0.01)
    assert view.stresses.force_n == pytest.approx(5.25 * _N_PER_LBF, rel=0.01)
    assert view.stresses.body_mpa == pytest.approx(82.0 * _MPA_PER_KPSI, rel=0.01)
    assert view.stresses.hook_bending_mpa == pytest.approx(156.9 * _MPA_PER_KPSI, rel=0.01)
    made = taken_from_coil(spring, view)
    assert made.initial_tension_n == tension and made.source.known_from == "dimensions"
    assert made.u["rate_n_per_mm"] / made.rate_n_per_mm > 0.02, "wire and G are never that sure"
    middle = taken_from_coil(spring, view, middle_tension=True)
    low, high = view.tension_range_n
    assert low < middle.initial_tension_n < high


def test_hang_rows_typed_pasted_fitted_and_taken(qtbot, page):
    page.part("tray").add_button.click()
    part = page.part("spring")
    assert part.isVisibleTo(page) and page.buttons["spring"].isChecked()
    part.show_way("hang")
    hang = part.hang
    assert "hang" not in page.feed.pictures, "there is nothing to be drawn without rows"
    hang.unit_box.setCurrentIndex(hang.unit_box.findData("gf"))
    hang.unit_box.activated.emit(0)
    hang.table.paste("0\t19.31\n50\t19.33\n100 g\t19.75\n2 N\t20.9\n300\t22.05\n400\t23.2\nx\t1")
    rows = page.tray.tray.springs[0].source.hang_test.rows
    assert [row.load_n for row in rows][3] == 2.0 and len(rows) == 6
    assert rows[2].load_n == pytest.approx(0.980665)
    assert "Line 7" in hang.table.said.text()
    qtbot.waitUntil(lambda: hang.facts.isVisibleTo(page))
    assert "±" in hang.facts.texts()["Rate"]
    assert len(page.feed.pictures["hang"](View()).marks()) == len(rows)
    assert hang.plot.isVisibleTo(page) and len(hang.plot.words()) == 6
    assert page.tray.tray.springs[0].rate_n_per_mm is None, "nothing is taken unasked"
    hang.take_button.click()
    taken = page.tray.tray.springs[0]
    assert taken.rate_n_per_mm > 0.5 and taken.source.known_from == "hang"
    assert "has these figures" in hang.after.text()
    page.tray.undo_stack.undo()
    assert page.tray.tray.springs[0].rate_n_per_mm is None


@pytest.mark.parametrize(
    ("pairs", "said"),
    [
        ([(0.0, 20.0)], "too few"),
        ([(19.0, 0.1), (20.0, 1.0), (21.0, 2.0), (22.0, 3.0)], "swapped"),
        ([(0.0, 20.0), (1.0, 20.0), (2.0, 20.0)], "until the coils part"),
        ([(1.0, 24.0), (2.0, 23.0), (3.0, 22.0)], "shorter under load"),
    ],
)
def test_a_hang_test_that_cannot_be_gets_a_sentence(qtbot, page, pairs, said):
    rows = tuple(HangRow(load_n=load, length_mm=max(length, 1.0)) for load, length in pairs)
    if said == "swapped":
        rows = tuple(HangRow(load_n=load, length_mm=1.0 + length) for load, length in pairs)
    source = SpringSource(known_from="hang", hang_test=HangTestRecord(rows=rows))
    fill(page, TraySpring(source=source))
    page.show_part("spring")
    hang = page.part("spring").hang
    qtbot.waitUntil(lambda: hang.wrong.isVisibleTo(page))
    assert said in hang.wrong.text()
    assert not hang.take_button.isEnabled() and not hang.plot.isVisibleTo(page)


def test_a_bound_reading_is_told_and_left_out(page):
    pairs = [(0.5 * n, 20.0 + 0.4 * max(n - 1, 0)) for n in range(9)] + [(4.5, 23.0), (5.0, 23.05)]
    rows = tuple(HangRow(load_n=load, length_mm=length + 0.002 * (-1) ** k)
                 for k, (load, length) in enumerate(pairs))  # fmt: skip
    source = SpringSource(known_from="hang", hang_test=HangTestRecord(rows=rows))
    fill(page, TraySpring(source=source))
    page.show_part("spring")
    assert "as if bound" in page.part("spring").hang.advice.text()


def test_how_well_it_was_read_goes_into_every_row(page):
    source = SpringSource(known_from="hang", hang_test=hung([(0, 20), (1, 20.4), (2, 21.2),
                                                              (3, 22.0)]))  # fmt: skip
    fill(page, TraySpring(source=source))
    page.show_part("spring")
    hang = page.part("spring").hang
    hang.sure_store.edit("Length", ("length_mm",), 0.05)
    rows = page.tray.tray.springs[0].source.hang_test.rows
    assert {row.u["length_mm"] for row in rows} == {0.05}
    assert "as stated" in hang.facts.texts()["How sure"]
    page.tray.undo_stack.undo()
    assert hang.sure_store.docket.length_mm is None


def test_permanent_set_is_said_in_words(page):
    coil = CoilRecord(wire_mm=0.5, mean_diameter_mm=4.0, body_coils=12.0)
    source = SpringSource(known_from="dimensions", coil=coil)
    fill(page, TraySpring(free_length_mm=14.0, source=source))
    page.show_part("spring")
    view = page.part("spring").coil
    for longest, sign in ((15.0, "✓"), (40.0, "▲")):
        view.working_store.edit("Length", ("working_mm",), longest)
        assert view.set_risk.text().startswith(sign)
    view.take_working()
    assert view.working_store.docket.working_mm == pytest.approx(26.0, abs=3.0)
    view.both_button.click()
    spring = page.tray.tray.springs[0]
    assert spring.rate_n_per_mm == pytest.approx(view._view.rate_n_per_mm)
    assert spring.u["initial_tension_n"] > 0


def test_used_as_primary_is_one_edit_of_the_docket(page, store):
    fill(page, *good_tray(store))
    before = store.docket
    page.part("tray").primary_button.click()
    assert store.undo_stack.count() == 1
    new = store.docket.mechanism.springs[0]
    assert (new.label, new.rate_n_per_mm, new.u["rate_n_per_mm"]) == ("light", 2.49, 0.03)
    assert "primary" in page.part("tray").said.text()
    store.undo_stack.undo()
    assert store.docket == before
    page.part("tray").take_button.click()
    assert len(page.tray.tray.springs) == 5 and store.docket == before


def test_undo_keys_are_the_trays_here(qtbot, page, store):
    store.edit("Stop", ("mechanism", "stop_deg"), 11.0)
    fill(page, *good_tray(store))
    page.part("tray").copy_button.click()
    page.part("tray").view.setFocus()
    qtbot.keyClick(page.part("tray").view, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert len(page.tray.tray.springs) == 3 and store.docket.mechanism.stop_deg == 11.0
    redo = page.part("tray").redo_button
    qtbot.waitUntil(redo.isEnabled)
    redo.click()
    assert len(page.tray.tray.springs) == 4


def test_table_in_and_out(page, store, tmp_path, monkeypatch, tables_agreed):
    fill(page, *good_tray(store))
    part = page.part("tray")
    path = tmp_path / "tray.csv"
    monkeypatch.setattr(part.dialogs, "save_table", lambda *_: path)
    monkeypatch.setattr(part.dialogs, "open_table", lambda *_: path)
    part.export_csv()
    fill(page)
    part.import_csv()
    assert page.tray.tray.springs == good_tray(store)
    QApplication.clipboard().setText("label\trate [N/mm]\tfree length\nZ\t1,5\t20\nY\tx\t20\n")
    part.paste()
    assert page.tray.tray.springs[-1].rate_n_per_mm == 1.5
    assert "Line 3." in part.said.text()
    pdf = tmp_path / "list.pdf"
    monkeypatch.setattr(part.dialogs, "save_pdf", lambda *_: pdf)
    part.save_list()
    assert pdf.read_bytes().startswith(b"%PDF")
    QApplication.clipboard().setText("no table")
    part.paste()
    assert "None of the rows can be taken.\nLine 1. Rate is not known yet." in part.said.text()


# Search, order ------------------------------------------------------------------------------


def wait(qtbot, runner) -> None:
    qtbot.waitUntil(lambda: not runner.busy, timeout=PATIENCE_MS)


def test_search_shows_candidates_and_fits_one_in_one_edit(qtbot, page, store):
    fill(page, *good_tray(store))
    page.show_part("search")
    part = page.part("search")
    part.start_button.click()
    wait(qtbot, part.runner)
    named = {part.model.texts(row)[1:3] for row in range(part.model.rowCount())}
    assert ("light", "heavy") in named and "soft" in {name for pair in named for name in pair}
    best = part.model.rows[0]
    # By what a hand would do first, then by margin to a hundredth of a degree.
    ranks = [(WORKS.index(c.work), -round(c.margin_deg, 2)) for c in part.model.rows if c.inside]
    assert ranks == sorted(ranks)
    assert best.inside and part.model.texts(0)[3].startswith("✓")
    overlay = page.feed.overlay
    strong = [curve for curve in overlay.curves if curve.strong]
    assert [curve.words for curve in strong] == [
        "with " + " + ".join(text for text in part.model.texts(0)[1:3] if text != "stays")
    ]
    branch = predict(part.search.apply(best)).rising
    assert np.array_equal(strong[0].advance_deg, branch.advance_deg)
    before = store.docket
    part.fit_button.click()
    assert store.undo_stack.count() == 1
    said = part.said.text()
    assert "stays as" not in said and ("stays" in said) == (best.primary is None)
    fitted = store.docket.mechanism.springs
    names = [s.label for s in fitted]
    assert part.model.texts(0)[1] in (names[0], "stays")
    assert fitted[1].slack_mm == best.secondary_slack_mm
    verdicts = page.feed.outcome.comparison
    assert all(p.predicted_inside for p in verdicts.check_points), "the docket now meets its band"
    assert "altered since" not in part.status.text(), "fitting a pair changes no answer"
    store.edit("Mass", ("mechanism", "weights", "mass_g"), 26.0)
    assert part.status.text().startswith("△ Docket or tray have been altered since")
    store.undo_stack.undo()
    store.undo_stack.undo()
    assert store.docket == before
    store.edit("Springs", ("mechanism", "springs"), before.mechanism.springs[::-1])
    assert not part.fit_button.isEnabled(), "they would go into the wrong places"
    page.show_part("tray")
    assert page.feed.overlay is None


def test_search_says_why_it_cannot(qtbot, page, store):
    page.show_part("search")
    part = page.part("search")
    button = part.start_button
    assert not button.isEnabled() and "tray is empty" in button.toolTip()
    assert part.status.text() == f"○ {button.accessibleDescription()}"
    fill(page, *good_tray(store))
    QApplication.processEvents()
    assert button.isEnabled() and not part.status.text().startswith("○")
    store.edit("Points", ("target", "points"), ())
    page.feed.tell()
    assert not button.isEnabled() and "no check points" in part.status.text()
    part.start()  # by another way
    assert part.said.text().startswith("▲") and not part.view.isVisibleTo(page)
    assert not part.said.visibleRegion().isEmpty(), "an answer that is not seen is none"


def test_a_stopped_search_keeps_the_best_so_far(qtbot, page, store):
    rates = np.geomspace(0.6, 14.0, 30)
    springs = [
        TraySpring(label=f"S{n}", count=2, rate_n_per_mm=float(r), free_length_mm=23.5 + 0.02 * n)
        for n, r in enumerate(rates)
    ]
    fill(page, *springs)
    page.show_part("search")
    part = page.part("search")
    part.start_button.click()
    assert part.stop_button.isEnabled() and part.progress.isVisibleTo(page)
    qtbot.waitUntil(lambda: part.found is not None and bool(part.found.candidates),
                    timeout=PATIENCE_MS)  # fmt: skip
    part.stop_button.click()
    wait(qtbot, part.runner)
    assert part.found.candidates and not part.found.finished
    assert "Stopped" in part.status.text() and part.fit_button.isEnabled()


def test_limits_of_the_hand_reach_the_core():
    from bobweight.core.design.asks import SearchAsk

    asked = SearchAsk(slack_least_mm=2.0, slack_most_mm=1.0, stop_free=True)
    assert asked.slack_range_mm == (1.0, 2.0) and asked.stop_range_deg == (5.0, 18.0)
    assert SearchAsk().stop_range_deg is None


def test_springs_to_order_are_fitted_and_put_in_the_tray(qtbot, page, store):
    page.show_part("ideal")
    part = page.part("ideal")
    part.start_button.click()
    wait(qtbot, part.runner)
    assert part.found.margin_deg > 0 and part.status.text().startswith("✓")
    margin = f"{part.found.margin_deg:.2f}"
    assert part.status.text().count(f"{margin}°") == 1, "the same margin is told once"
    model = part._cards["primary"][2].table_model
    assert model.rowCount() and model.texts(0)[0]
    part.fit_button.click()
    assert store.undo_stack.count() == 1
    assert all(p.predicted_inside for p in page.feed.outcome.comparison.check_points)
    assert store.docket.mechanism.springs[0].source.known_from == "dimensions"
    part.tray_button.click()
    assert [s.count for s in page.tray.tray.springs] == [0, 0]


# Tolerance, learning ------------------------------------------------------------------------


def test_tolerance_follows_the_slider_and_is_undone(qtbot, page, store):
    page.show_part("tolerance")
    part = page.part("tolerance")
    assert part.which_status.text() == "Working it out." and part.which_status.isVisibleTo(page)
    wait(qtbot, part.runner)
    qtbot.waitUntil(lambda: part.influence is not None, timeout=PATIENCE_MS)
    assert not part.which_status.isVisibleTo(page), "the shares stand in its place"
    assert len(page.feed.overlay.bands) >= 1
    odds = part.odds.texts()
    assert odds["Everywhere"].endswith("%") and len(odds) >= 6
    assert part.bars.bars and all(bar.number.count("%") == 2 for bar in part.bars.bars)
    row = part._rows[0]
    place, before = row.path, store.docket
    band = page.feed.overlay.bands[0]
    row.slider.setSliderDown(True)
    for step in (60, 70, 80):
        row.slider.setValue(step)
    row.slider.setSliderDown(False)
    assert store.undo_stack.count() == 1, "one drag is one edit"
    owner = store.docket
    for step in place[:-1]:
        owner = owner[step] if isinstance(step, int) else getattr(owner, step)
    assert owner.u[place[-1]] == pytest.approx(slider_u(80, row._middle_u))
    qtbot.waitUntil(lambda: part._of is store.docket and not part.runner.busy, timeout=PATIENCE_MS)
    wider = page.feed.overlay.bands[0]
    assert (wider.high_deg - wider.low_deg).sum() > (band.high_deg - band.low_deg).sum()
    store.undo_stack.undo()
    assert store.docket == before
    qtbot.waitUntil(lambda: not part.runner.busy and not part.sobol_runner.busy,
                    timeout=PATIENCE_MS)  # fmt: skip


def test_tolerance_says_what_is_missing(page, store):
    store.edit("Rate", ("mechanism", "springs", 0, "rate_n_per_mm"), None)
    page.show_part("tolerance")
    part = page.part("tolerance")
    assert part.status.text().endswith("Still needed: primary spring (rate).")
    assert not part.odds.isVisibleTo(page)


def test_cautions_are_folded_in_the_next_part_but_never_gone(qtbot, page):
    boxes = []
    for key in ("search", "ideal"):
        page.show_part(key)
        boxes.append(page.part(key).findChild(CautionBox))
        qtbot.waitUntil(lambda: page.display.cautions_seen == {"other springs"})
    assert boxes[0].button.isChecked() and not boxes[1].button.isChecked()
    assert "Springs fly" in boxes[0].said.text() and boxes[1].button.text(), "one line stays"
    assert "Springs fly" in boxes[1].button.accessibleDescription()
    boxes[1].button.click()
    assert "Springs fly" in boxes[1].said.text(), "whole at a click"


def test_slider_goes_there_and_back():
    for place in range(0, 101, 5):
        assert abs(slider_place(slider_u(place, 0.3), 0.3) - place) <= 1
    assert slider_u(50, 0.3) == 0.3 and slider_u(100, 0.3) == pytest.approx(3.0)


def test_shares_of_all_points_weigh_by_their_variance():
    spread = tuple(Uncertain(((key,),), 1.0, 0.1, 0.0, 9.0, "stated") for key in "ab")
    first = np.array([[1.0, 0.0], [0.0, 1.0]])
    found = Influence(spread, first, first, np.array([1.0, 3.0]))
    whole = shares(found)
    assert [s.uncertain.paths[0][0] for s in whole] == ["b", "a"]
    assert whole[0].alone == pytest.approx(0.9) and whole[1].total == pytest.approx(0.1)
    assert [s.uncertain.paths[0][0] for s in shares(found, 0)] == ["a", "b"]


def test_what_passes_is_never_certain_and_rounded_plainly():
    shares_of = (0.0, 409 / 512, 1.0, float("nan"))  # 79.9 of a hundred, by hand
    assert [passes(share) for share in shares_of] == ["<1 %", "80 %", ">99 %", "–"]


def test_learning_goes_step_by_step(qtbot, page, store):
    page.show_part("learn")
    part = page.part("learn")
    assert all(label.text().startswith("✓") for label in part.need)
    pipe_off = [r for r in store.docket.sessions[-1].readings if r.depression_kpa is None]
    assert f" {len(pipe_off)} readings with the pipe off" in part.need[-1].text()
    assert not part._result.isVisibleTo(page)
    part.start_button.click()
    wait(qtbot, part.runner)
    assert part.status.text() == f"Learnt from {len(pipe_off)} readings."
    assert part._result.isVisibleTo(page) and "±" in part.facts.texts()["Pull of the weights"]
    assert [curve.words for curve in page.feed.overlay.curves] == ["learnt"]
    part.take_button.click()
    assert store.undo_stack.count() == 1
    assert store.docket.mechanism.linkage.kind == "learned"
    assert store.docket.mechanism.weights.mass_g == 24.0, "what was measured is kept"
    assert page.feed.outcome.prediction is not None and part._next.isVisibleTo(page)
    part.search_button.click()
    assert page.buttons["search"].isChecked()
    store.undo_stack.undo()
    assert store.docket.mechanism.linkage.kind != "learned"


def test_learning_names_what_is_lacking(page, store):
    store.edit("Rate", ("mechanism", "springs", 0, "rate_n_per_mm"), None)
    store.edit("Post", ("mechanism", "springs", 1, "post_angle_deg"), None)
    store.edit("Stop", ("mechanism", "stop_deg"), None)
    store.edit("Runs", ("sessions",), ())
    page.show_part("learn")
    part = page.part("learn")
    texts = [label.text() for label in part.need]
    assert all(text.startswith("○") for text in texts)
    assert "Primary spring" in texts[0] and "Secondary spring" in texts[1]
    assert not part.start_button.isEnabled()


# The page -----------------------------------------------------------------------------------


def test_every_control_of_every_part_has_a_name(page, store):
    source = SpringSource(hang_test=hung([(0, 20), (1, 20.4), (2, 21.2)]))
    fill(page, TraySpring(source=source), *good_tray(store))
    for kind in PARTS:
        page.show_part(kind.key)
        for way in ("hang", "dimensions", "typed") if kind.key == "spring" else ("",):
            if way:
                page.part("spring").show_way(way)
            nameless = [
                widget
                for widget in page.findChildren(QWidget)
                if widget.focusPolicy().value & 1 and widget.isVisibleTo(page)
                and not widget.accessibleName() and not getattr(widget, "text", str)()
            ]  # fmt: skip
            assert not nameless, (kind.key, way)


def test_no_part_is_wider_than_the_page_of_the_mechanism(qtbot, page, store):
    fill(page, *good_tray(store))
    other = MechanismPage(store, page.feed, page.display)
    qtbot.addWidget(other)
    other.show()
    for kind in PARTS:
        page.show_part(kind.key)
        for way in ("hang", "dimensions", "typed") if kind.key == "spring" else ("",):
            if way:
                page.part("spring").show_way(way)
            assert page.minimumSizeHint().width() <= other.minimumSizeHint().width(), kind.key


def test_an_emptied_tray_and_another_docket_leave_no_part_hanging(page, store, demo):
    fill(page, *good_tray(store))
    for kind in PARTS:
        page.show_part(kind.key)
    page.show_part("spring")
    for way in ("hang", "dimensions", "typed"):
        page.part("spring").show_way(way)
    page.tray.undo_stack.undo()
    assert page.part("spring").empty.isVisibleTo(page)
    page.tray.undo_stack.redo()
    assert page.part("spring").box.count() == 3
    from bobweight.core.docket.docket import new_docket

    store.open_docket(new_docket(), None)
    assert page.state() == "empty"
    for kind in PARTS:
        page.show_part(kind.key)
    store.open_docket(demo, None)
    assert page.state() == "begun", "typed in, none measured"


def test_the_window_keeps_the_tray_and_clears_the_board(window, answers, demo, own_home):
    window.store.open_docket(demo, None)
    window.show_page("springs")
    page = window.page("springs")
    page.part("tray").add_button.click()
    page.tray.edit("Rate", ("springs", 0, "rate_n_per_mm"), 1.5)
    window.feed.show_overlay(Overlay())
    window.show_page("mechanism")
    assert window.feed.overlay is None
    answers.leave = "discard"
    window.close()
    assert read_tray(own_home / FILE_NAME).springs[0].rate_n_per_mm == 1.5


def test_the_tray_shows_what_it_can_where_there_is_little_room(qtbot, page, store):
    springs = tuple(
        TraySpring(label="A long name of a spring " * n, rate_n_per_mm=2.25, free_length_mm=17.5)
        for n in (1, 3)
    )
    page.tray.replace("Fill", put(page.tray.tray, ("springs",), springs))
    view = page.part("tray").view
    columns = view.table_model.columns
    for width_px, hidden in ((1600, set()), (390, {"How it is known", "Note"}), (1600, set())):
        view.resize(width_px, 300)
        gone = {c.heading for n, c in enumerate(columns) if view.isColumnHidden(n)}
        assert gone == hidden and view.horizontalHeader().length() <= view.viewport().width()
    assert springs[1].label.strip() in view.model().index(1, 0).data(Qt.ItemDataRole.ToolTipRole)
