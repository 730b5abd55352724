"""What the pictures of the third pane show, against the core's own numbers."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtWidgets import QApplication

from bobweight.app.board.board import Board
from bobweight.app.board.figure_plot import FigurePlot
from bobweight.app.board.pane import OF_PAGE
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.design.goal import goal_of
from bobweight.core.design.hang_test import hang_test
from bobweight.core.design.tolerance import tolerance
from bobweight.core.docket.docket import new_docket
from bobweight.core.figure.design import HangUnits, hang_figure, pass_figure
from bobweight.core.figure.ratio import MOST, ratio_figure
from bobweight.core.figure.torque import torque_figure
from bobweight.core.figure.view import FRAMES, view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put
from bobweight.core.units import percent
from tests.board.dockets import docket


def test_the_weights_balance_on_the_curve_of_their_speed_where_the_advance_stands_too():
    """Among them one at which the springs' torque leaps: a secondary is taken up, and the advance
    stands from 777 to 853 rev/min."""
    (stand,) = outcome(docket()).prediction.plateaus
    speed = 0.5 * (stand.from_rpm + stand.to_rpm)
    made = put(docket(), ("target", "points", 1, "speed_rpm"), speed)
    figure = torque_figure(outcome(made), view_of(made))
    pulls = [trace for trace in figure.traces if trace.role == "pull"]
    marks = figure.marks("balance")
    assert len(pulls) == len(marks.x)
    for pull, x, y in zip(pulls, marks.x, marks.y, strict=True):
        assert y == pytest.approx(np.interp(x, pull.x, pull.y), rel=1e-3)


@pytest.mark.parametrize("frame", FRAMES)
def test_the_pose_stands_on_the_curve_of_its_speed(frame: str):
    result, view = outcome(docket()), view_of(docket(), frame)
    speed = 0.8 * result.prediction.full_rpm  # clear of the take-up, where the torque leaps
    figure = torque_figure(result, view, speed)
    posed = figure.marks("posed")
    assert posed.x[0] == pytest.approx(float(view.shown(result.prediction.advance_deg(speed))))
    pull = figure.trace("pull-posed")
    assert posed.y[0] == pytest.approx(np.interp(posed.x[0], pull.x, pull.y), rel=1e-3)
    (friction,) = [zone for zone in figure.zones if zone.role == "friction"]
    assert posed.y[0] == pytest.approx(np.interp(posed.x[0], friction.x, friction.high), rel=1e-2)
    stop = next(bound.at for bound in figure.bounds if bound.kind == "stop")
    assert stop == pytest.approx(float(view.shown(result.prediction.full_deg)))


def test_springs_lie_on_one_another_up_to_what_is_held():
    figure = torque_figure(outcome(docket()), view_of(docket()))
    springs = [zone for zone in figure.zones if zone.role.startswith("spring-")]
    assert [zone.role for zone in springs] == ["spring-primary", "spring-secondary"]
    assert springs[0].high == pytest.approx(springs[1].low)
    assert springs[1].high == pytest.approx(figure.trace("held").y)


def placed(qtbot, figure, size):
    """Where the words of a picture stand in a pane of so many pixels, and the pane's plot."""
    plot = FigurePlot()
    qtbot.addWidget(plot)
    plot.resize(*size)
    plot.show_figure(figure)
    plot.show()
    qtbot.waitExposed(plot)
    return plot.label_places(plot.main.scale()), plot


@pytest.mark.parametrize("size", [(346, 284), (400, 380), (560, 420)])
@pytest.mark.parametrize("speed", [None, 700.0, 861.2])
def test_each_spring_and_pull_of_the_torque_is_named_for_itself(qtbot, size, speed):
    figure = torque_figure(outcome(docket()), view_of(docket()), speed)
    places, plot = placed(qtbot, figure, size)
    assert "spring-secondary" in places
    assert {label.key for label in figure.labels if label.role.startswith("pull")} <= set(places)
    scale, unit = plot.main.scale(), plot.inks.line_px
    lines = [t for t in figure.traces if t.role.startswith("pull")]
    for label in figure.labels:
        spot = places.get(label.key)
        if spot is None or label.role != "pull" or spot.leader is not None:
            continue
        left, right = spot.x * unit, (spot.x + spot.width) * unit
        middle = (spot.y + 0.5 * spot.height) * unit
        away = [np.hypot(x - np.clip(x, left, right), scale.y(line.y) - middle).min()
                for line, x in ((line, scale.x(line.x)) for line in lines)]  # fmt: skip
        high = label.spots[0][1]
        own = [n for n, line in enumerate(lines) if line.y[-1] == pytest.approx(high)]
        assert [int(np.argmin(away))] == own, label.key


def test_what_is_kept_of_the_torque_does_not_grow_with_the_speeds_posed(qtbot):
    plot = FigurePlot()
    qtbot.addWidget(plot)
    plot.resize(560, 420)
    plot.show()
    kept = set()
    for speed in np.linspace(650.0, 900.0, 12):
        plot.show_figure(torque_figure(outcome(docket()), view_of(docket()), float(speed)))
        plot.label_places(plot.main.scale())
        kept.add(len(plot._kept))
    assert max(kept) <= len(plot.figure.labels)


@pytest.mark.parametrize("size", [(346, 284), (400, 380), (560, 420)])
def test_no_pin_strikes_through_how_many_pass_everywhere(qtbot, size):
    made = docket()
    goal = goal_of(made)
    figure = pass_figure(tolerance(made.mechanism, goal, builds=256), goal, view_of(made))
    places, plot = placed(qtbot, figure, size)
    scale, unit, words = plot.main.scale(), plot.inks.line_px, places["all"]
    for stem in (t for t in figure.traces if t.role == "stem"):
        x, top = float(scale.x(stem.x[1])), float(scale.y(stem.y[1]))
        beside = not words.x * unit < x < (words.x + words.width) * unit
        assert beside or (words.y + words.height) * unit < top


def test_ratio_is_drawn_in_the_frame_shown_and_not_without_readings():
    made = docket()
    plain, static = (ratio_figure(outcome(made), view_of(made, f)) for f in FRAMES[::2])
    assert static.marks().y == pytest.approx(plain.marks().y)
    assert static.marks().x == pytest.approx(2 * plain.marks().x + made.setting_up.static_deg)
    assert ratio_figure(outcome(made.with_changes(sessions=())), view_of(made)) is None


@pytest.mark.parametrize("rate", [0.9, 1.7, 5.0])
def test_the_whole_curve_by_the_figures_is_inside_the_ratio(rate: float):
    made = put(docket(), ("mechanism", "springs", 0, "rate_n_per_mm"), rate)
    figure = ratio_figure(outcome(made), view_of(made))
    by_figures = figure.trace("rising").y
    assert by_figures.min() >= figure.y.low
    assert figure.y.high >= min(by_figures.max(), MOST)


def test_hang_test_is_drawn_in_the_units_shown():
    loads, lengths = [0, 1, 2, 3, 4, 5], [19.0, 19.05, 19.32, 19.71, 20.12, 20.48]
    result = hang_test(loads, lengths)
    inch = hang_figure(loads, lengths, result, HangUnits("in", "lbf", 1 / 25.4, 1 / 4.448222))
    line = inch.trace("rising")
    slope = np.diff(line.y) / np.diff(line.x)
    # 1 lbf/in = 0.1751268 N/mm (NIST SP 811, 2008, B.8)
    assert slope == pytest.approx(np.full(len(slope), result.rate_n_per_mm / 0.1751268), rel=1e-5)
    assert hang_figure([], [], None, HangUnits()) is None


def test_pass_rates_stand_at_their_check_points():
    made = docket()
    goal = goal_of(made)
    result = tolerance(made.mechanism, goal, builds=256)
    figure = pass_figure(result, goal, view_of(made, "crank"))
    marks = figure.marks("balance")
    assert marks.x == pytest.approx(2 * np.asarray(goal.speed_rpm))
    assert marks.y == pytest.approx(100 * result.point_probability)
    assert figure.y.high == 100.0, "no more can pass"
    assert figure.trace("all").y == pytest.approx(100 * result.all_probability)
    told = [label.words.facts["rate"] for label in figure.labels]
    rates = [result.all_probability, *result.point_probability]
    assert [f"{rate} %" for rate in told] == [percent(float(rate)) for rate in rates], "as the list"


@pytest.fixture
def board(qtbot):
    store, display = Store(docket()), Display()
    made = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.resize(900, 800)
    made.show()
    qtbot.waitExposed(made)
    QApplication.processEvents()
    yield made
    store.release()


def test_the_third_pane_follows_the_page_and_remembers_the_choice(board):
    for page, first in (("mechanism", "torque"), ("vacuum", "capsule"), ("verdict", "ratio")):
        board.follow_page(page)
        assert board.pane.current == first
        assert first in OF_PAGE[page]
        board.pane.grab()
    board.pane.tabs.setCurrentIndex(board.pane._keys.index("torque"))
    board.follow_page("vacuum")
    assert board.pane.current == "capsule"
    board.follow_page("verdict")
    assert board.pane.current == "torque"


def test_the_torque_picture_follows_the_pose(board):
    board.follow_page("mechanism")
    seen = []
    for speed in (600.0, 900.0):
        board.set_speed(speed)
        seen.append(float(board.pane.plot.figure.marks("posed").x[0]))
    assert seen[0] < seen[1]


def test_a_page_offers_its_picture_and_takes_it_away(board):
    board.follow_page("springs")
    loads, lengths = [0, 1, 2, 3], [19.0, 19.4, 19.8, 20.2]
    board._feed.offer_picture("hang", lambda view: hang_figure(loads, lengths, None, HangUnits()))
    QApplication.processEvents()
    assert board.pane.current == "hang" and len(board.pane.plot.figure.marks()) == 4
    board._feed.offer_picture("hang", None)
    QApplication.processEvents()
    assert board.pane.current == "torque"


def test_an_empty_docket_has_no_third_pane(qtbot):
    store, display = Store(new_docket()), Display()
    made = Board(store, OutcomeFeed(store, display), display)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    QApplication.processEvents()
    assert made.pane.isHidden()
    store.release()


def test_words_of_a_picture_in_a_narrow_pane_stay_in_it(qtbot):
    plot = FigurePlot()
    qtbot.addWidget(plot)
    plot.resize(260, 240)
    plot.show_figure(torque_figure(outcome(docket()), view_of(docket()), 700.0))
    plot.show()
    qtbot.waitExposed(plot)
    scale = plot.main.scale()
    for placed in plot.label_places(scale).values():
        unit = plot.inks.line_px
        assert placed.x >= 0 and (placed.x + placed.width) * unit <= scale.width
        assert placed.y >= 0 and (placed.y + placed.height) * unit <= scale.height
