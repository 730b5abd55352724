"""The plan view as a form: lines for every figure, blanks in order, faults mended in one click."""

import re

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from bobweight.app.board.form_words import form_lines
from bobweight.app.board.plan import PlanView
from bobweight.app.board.wording import PartWords, missing
from bobweight.app.messages.lacking import blank_reasons, lacking
from bobweight.app.store.display import Display
from bobweight.app.theme import apply_theme
from bobweight.app.words import label
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Mechanism, OutlinePoint, OwnWeight
from bobweight.core.figure.plan import plan_frame
from bobweight.core.judgement.assume import assume
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.outcome import outcome
from bobweight.core.mechanics.dimensions import dimensions
from bobweight.core.mechanics.places import as_distances, mirrored
from bobweight.core.mechanics.pose import pose
from bobweight.core.mechanics.typical import completed, typical_mechanisms
from bobweight.core.record import get, parameter_at, put
from tests.samples import FOLDER, sample

SAMPLES = sorted(path.stem for path in FOLDER.glob("*.docket"))


def shown(qtbot, docket, width=720, height=600):
    """A plan view that shows a docket as a form."""
    display = Display()
    apply_theme(QApplication.instance(), "light")  # words are as wide as in the window
    view = PlanView(PartWords(display))
    qtbot.addWidget(view)
    view.resize(width, height)
    made = completed(docket.mechanism)
    view.show_pose(docket.with_changes(mechanism=made.mechanism), 0.0)
    view.show_form(form_lines(outcome(docket), made, display))
    view.grab()
    return view


DRAWN = {t.key: new_docket().with_changes(mechanism=t.mechanism) for t in typical_mechanisms()}
DRAWN = {name: sample(name) for name in SAMPLES} | {"empty": new_docket()} | DRAWN


def crosses_rim(view, box) -> bool:
    """Whether a box of words lies across the edge of the base plate."""
    at = view.transform()
    middle, rim = at.map(QPointF(0.0, 0.0)), view.frame.plate_mm * abs(at.m22())
    x, y = (np.array(ends) for ends in ((box.left(), box.right()), (box.top(), box.bottom())))
    x, y = x - middle.x(), y - middle.y()
    near = np.hypot(np.clip(0.0, *x), np.clip(0.0, *y))
    return bool(near < rim - 1.0 and np.hypot(abs(x).max(), abs(y).max()) > rim + 1.0)


SIZES = ((735, 447), (864, 330), (1338, 416))
"""The plan view's in windows of 1280 × 680, 1440 × 860 and 1920 × 1040."""


@pytest.mark.parametrize("name", DRAWN)
def test_every_figure_has_its_words_and_they_cover_nothing(qtbot, name):
    view = shown(qtbot, DRAWN[name], *SIZES[0])
    for size in SIZES:
        view.resize(*size)
        view.grab()
        boxes = [t.hit.boundingRect() for t in view._targets if t.hit.elementCount() == 5]
        assert len(boxes) >= len(view._lines.words) + 1  # and the stop
        words = [box.adjusted(5, 2, -5, -2) for box in boxes]  # without what is clicked about them
        posed, at = view.posed, view.transform()
        places = [(0.0, 0.0), view.frame.stop.at, *posed.pivots, *posed.centres, *posed.pins]
        places += [end for spring in posed.springs for end in (spring.post, spring.peg)]
        turn = np.radians(view.frame.zero_deg + view.frame.stop_deg)
        places.append((view.frame.scale_mm + 0.6) * np.array((np.cos(turn), np.sin(turn))))
        for index, box in enumerate(words):
            assert view.rect().contains(box.toAlignedRect())
            assert not any(box.intersects(other) for other in words[:index]), (size, index)
            covered = [place for place in places if box.contains(at.map(QPointF(*place)))]
            assert not covered, (size, view._lines.words[index - 1], covered)
            assert not crosses_rim(view, box), "words lie on the plate or beside it"


@pytest.mark.parametrize("name", DRAWN)
def test_outlines_of_weights_show_no_corner(name):
    mechanism = completed(DRAWN[name].mechanism).mechanism
    for shape in plan_frame(DRAWN[name].with_changes(mechanism=mechanism)).weights:
        sides = np.diff(np.vstack([shape, shape[:1]]), axis=0) @ (1, 1j)
        sides = sides[np.abs(sides) > 1e-6]
        turns = np.degrees(np.abs(np.angle(sides / np.roll(sides, 1))))
        assert turns.max() < 8.0


@pytest.mark.parametrize("name", SAMPLES)
def test_each_line_is_as_long_as_its_figure(name):
    mechanism = sample(name).mechanism
    found = dimensions(completed(mechanism))
    assert len(found) >= 9
    for one in found:
        assert one.value == pytest.approx(get(mechanism, one.path))
        if one.is_angle:
            turned = abs(one.turn_deg)
            assert abs((abs(one.value) - turned + 180) % 360 - 180) == pytest.approx(0, abs=1e-6)
        else:
            length = np.hypot(*np.subtract(one.start, one.end))
            assert length == pytest.approx(one.value, abs=abs(mechanism.springs[0].tang_mm) + 1e-6)


@pytest.mark.parametrize("key", ["empty", *(t.key for t in typical_mechanisms())])
def test_what_is_blank_has_its_name_and_nothing_counts_as_known(qtbot, key):
    typical = {t.key: t.mechanism for t in typical_mechanisms()}
    docket = new_docket().with_changes(mechanism=typical.get(key, Mechanism()))
    lines = form_lines(outcome(docket), completed(docket.mechanism), Display())
    assert all(one.value is None for one in lines.dimensions)
    made = completed(docket.mechanism).mechanism
    names = [label(parameter_at(made, one.path)) for one in lines.dimensions]
    assert [words.casefold() for words in lines.words] == [name.casefold() for name in names]
    assert lines.dimensions[0].path == ("weights", "pivot_radius_mm")
    assert lines.draft and lines.blank_weights
    assert shown(qtbot, docket).parts == []


def test_the_pin_of_the_stop_is_drawn_and_named_only_where_its_place_is_known(qtbot):
    unknown = sample("small_four")
    plate = ("mechanism", "plate")
    placed = put(put(unknown, (*plate, "stop_radius_mm"), 23.0), (*plate, "stop_angle_deg"), 300.0)
    for docket, drawn in ((unknown, False), (placed, True)):
        view = shown(qtbot, docket)
        at = view.transform().map(QPointF(*view.frame.stop.at)).toPoint()
        ink = view.inks.stop.color()
        assert (view.grab().toImage().pixelColor(at) == ink) == drawn
        assert ((*plate[1:], "stop_radius_mm") in {t.path for t in view._targets}) == drawn


def test_a_line_that_is_clicked_asks_for_its_field(qtbot):
    view = shown(qtbot, sample("small_four"))
    asked = []
    view.picked.connect(asked.append)
    for target in view._targets[:6]:
        at = target.hit.boundingRect().center()
        if not target.hit.contains(at):
            continue
        QTest.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPointF(at).toPoint())
        assert asked[-1][0] == "mechanism"
    assert asked


def test_a_weight_of_its_own_shows_what_is_its_own(qtbot):
    docket = sample("small_four")
    own = OwnWeight(place_deg=165.0, cg_mm=13.0, rest_angle_deg=110.0)
    docket = put(docket, ("mechanism", "weights", "each"), (OwnWeight(cg_mm=9.0), own))
    view = shown(qtbot, docket)
    said = dict(zip((d.path for d in view._lines.dimensions), view._lines.words, strict=True))
    each = ("weights", "each")
    assert said[*each, 0, "cg_mm"].startswith("9") and said[*each, 1, "cg_mm"].startswith("13")
    assert said[*each, 1, "place_deg"] == "165°" and said[*each, 1, "rest_angle_deg"] == "110°"
    assert ("weights", "cg_mm") not in said and ("weights", "pivot_radius_mm") in said
    assert all(get(docket.mechanism, path) is not None for path in said)


def test_a_fault_is_told_in_its_whole_first_sentence(qtbot):
    docket = put(sample("small_four"), ("mechanism", "stop_deg"), 55.0)
    assert any(re.search(r"only \d+\.\d+°$", f.words) for f in shown(qtbot, docket)._lines.faults)


def test_the_wrong_way_about_is_mended_where_it_is_seen(qtbot):
    docket = sample("small_four")
    spring = mirrored(docket.mechanism, 1)
    view = shown(qtbot, put(docket, ("mechanism", "springs", 1), spring))
    fault = next(t for t in view._targets if t.act)
    asked = []
    view.mirror_asked.connect(asked.append)
    at = fault.hit.boundingRect().center().toPoint()
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, pos=at)
    assert asked == [1]


def test_a_check_at_the_stop_that_fails_is_told_where_it_is(qtbot):
    mechanism = put(sample("small_four").mechanism, ("springs", 0, "tang_mm"), 0.0)
    for more, told in ((0.0, 0), (2.5, 1)):
        spring = as_distances(mechanism, 0)
        long = pose(mechanism, mechanism.stop_deg).springs[0].length_mm
        spring = spring.with_changes(stop_mm=float(long) + more)
        view = shown(qtbot, put(sample("small_four"), ("mechanism", "springs", 0), spring))
        assert len(view._lines.faults) == told
    assert view._lines.faults[0].path == ("springs", 0, "stop_mm")


def test_distances_that_do_not_meet_are_drawn_as_near_as_can_be(qtbot):
    docket = new_docket().with_changes(mechanism=typical_mechanisms()[1].mechanism)
    path = ("mechanism", "springs", 0, "rest_mm")
    docket = put(put(docket, path, 90.0), ("mechanism", "springs", 0, "peg_radius_mm"), 12.0)
    made = completed(docket.mechanism)
    assert path[1:] in made.clipped
    assert shown(qtbot, docket)._targets


def test_a_traced_outline_is_drawn(qtbot):
    docket = sample("small_four")
    corners = ((-5, -6), (18, -8), (21, 7), (-4, 6))
    traced = tuple(OutlinePoint(x_mm=float(x), y_mm=float(y)) for x, y in corners)
    view = shown(qtbot, put(docket, ("mechanism", "weights", "outline"), traced))
    plain = shown(qtbot, docket)
    assert not np.array_equal(view._frame.weights[0][:3], plain._frame.weights[0][:3])
    pose = view._frame.rest[0]
    away = np.hypot(*(view._frame.weights[0] - np.array(pose.pivot_xy)).T)
    assert away.max() == pytest.approx(np.hypot(21, 7), abs=0.5)


@pytest.mark.parametrize(("key", "mass_g", "build"),
                         [("two-light", 20.0, "light"), ("two-heavy", 55.0, "heavy")])  # fmt: skip
def test_light_and_heavy_weights_are_assumed_and_never_stored(key, mass_g, build):
    """20 g small, 55 g large: common practice (18–35 g and 30–90 g)."""
    typical = {t.key: t.mechanism for t in typical_mechanisms()}[key]
    assert typical.weights.build == build and typical.weights.mass_g is None
    made = completed(typical)
    assert made.mechanism.weights.mass_g == mass_g and ("weights", "mass_g") in made.blanks
    found = assume(new_docket().with_changes(mechanism=typical))
    assert found.mechanism.weights.mass_g == mass_g
    known = completed(put(typical, ("weights", "mass_g"), 31.0))
    assert known.mechanism.weights.mass_g == 31.0 and ("weights", "mass_g") not in known.blanks


def test_no_figure_is_said_to_stand_for_a_blank_one_where_another_cannot_be_right() -> None:
    """A pivot at 1 mm beside a blank mass: the curve is not drawn, and why is said once."""
    docket = put(sample("weak_primary"), ("mechanism", "weights", "mass_g"), None)
    docket = put(docket, ("mechanism", "springs", 0, "rate_n_per_mm"), None)
    docket = put(docket, ("mechanism", "weights", "pivot_radius_mm"), 1.0)
    found = outcome(docket)
    judgement = decide_docket(docket, with_fit=False).judgement
    doubted = judgement.doubted
    assert judgement.bare and doubted[0][-1] == "pivot_radius_mm"
    assert missing(found, found, doubted=doubted) == [
        "▲ A figure of the mechanism cannot be right. Look first at this one: pivot radius."
    ]
    assert missing(found, found, doubted=())[0].endswith("pivot radius.")  # it is far from usual
    usual = outcome(put(docket, ("mechanism", "weights", "pivot_radius_mm"), 17.0))
    assert "no single one would explain it" in missing(usual, usual, doubted=())[0]
    assert "usual figures are assumed" in missing(found, found)[0]
    path = ("mechanism", "weights", "mass_g")
    blank = [p for p in found.problems if p.grave]
    assert blank_reasons(found, blank, doubted)[0] == lacking(found, doubted)[0]  # page and board
    assert lacking(found)[0].path == path and lacking(found)[0].sign == "△"
    whole = outcome(put(sample("weak_primary"), ("mechanism", "weights", "pivot_radius_mm"), 1.0))
    assert [each.text for each in lacking(whole, ())] == [lacking(found, doubted)[0].text]


def test_what_contradicts_itself_is_told_before_what_is_blank() -> None:
    """A linkage that ends before the stop, and no mass: no mass would give a curve."""
    docket = put(sample("weak_primary"), ("mechanism", "stop_deg"), 60.0)
    docket = put(docket, ("mechanism", "weights", "mass_g"), None)
    found = outcome(docket)
    codes = [(p.code, p.grave) for p in found.problems]
    assert ("missing", True) in codes
    for each in lacking(found):
        assert (each.sign == "▲") == any(c == "linkage-short-of-stop" and g for c, g in codes)
