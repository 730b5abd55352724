"""Words stand off the lines, off one another and inside the plot."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import RegularGridInterpolator

from bobweight.core.docket.file import read_docket
from bobweight.core.figure.description import (
    START_SHARE,
    Axis,
    Bound,
    CheckSpan,
    Figure,
    Label,
    Trace,
    Zone,
)
from bobweight.core.figure.place import (
    Asking,
    Ground,
    Placed,
    dense,
    named_events,
    place_labels,
    place_words,
)
from bobweight.core.figure.speed import speed_figure
from bobweight.core.figure.torque import torque_figure
from bobweight.core.figure.total import total_figure
from bobweight.core.figure.view import FRAMES, view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.record import put

SAMPLES = sorted((Path(__file__).parents[2] / "sample_curves").glob("*.docket"))
NOTHING = np.zeros((0, 2))


def room(width=36.0, height=19.0, lines=NOTHING, marks=NOTHING, edges=NOTHING) -> Ground:
    return Ground(width, height, lines, marks, edges)


def asked(key, x, y, size=(5.5, 1.0), toward=(0.0, 0.0)) -> Asking:
    return Asking(key, size, np.array([(x, y)]), toward)


def box(spot: Placed):
    return spot.x, spot.y, spot.x + spot.width, spot.y + spot.height


def overlap(a, b) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def crossed(area, line, count=400) -> bool:
    """By walking along the line, unlike the rule under test."""
    (x0, y0), (x1, y1) = line
    share = np.linspace(0.0, 1.0, count)
    x, y = x0 + share * (x1 - x0), y0 + share * (y1 - y0)
    inside = (x > area[0]) & (x < area[2]) & (y > area[1]) & (y < area[3])
    return bool(inside.any())


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(4, 32), st.floats(3, 16)), min_size=1, max_size=9))
def test_words_overlap_neither_words_nor_leaders_and_stay_inside(spots):
    found = place_words([asked(str(i), x, y) for i, (x, y) in enumerate(spots)], room())
    placed = list(found.values())
    for i, one in enumerate(placed):
        area = box(one)
        assert area[0] >= 0 and area[2] <= 36 and area[1] >= 0 and area[3] <= 19
        for j, other in enumerate(placed):
            assert i == j or not overlap(area, box(other))
            assert i == j or other.leader is None or not crossed(area, other.leader)


def test_words_leave_their_curve_free():
    x = np.linspace(0, 36, 200)
    curve = np.column_stack([x, 19 - 0.5 * x])
    spot = place_words([asked("rising", 18.0, 10.0, toward=(1.0, 1.0))], room(lines=curve))
    left, top, right, bottom = box(spot["rising"])
    x, y = dense(curve).T
    assert not ((x > left) & (x < right) & (y > top) & (y < bottom)).any()


def test_words_keep_their_place_when_little_changes():
    kept: dict[str, int] = {}
    x = np.linspace(0, 36, 200)
    choices = set()
    for shift in np.linspace(0, 0.2, 12):
        curve = np.column_stack([x, 19 + shift - 0.5 * x])
        wanted = asked("rising", 18.0, 10.0 + shift, toward=(1.0, 1.0))
        choices.add(place_words([wanted], room(lines=curve), kept)["rising"].choice)
    assert len(choices) == 1


def test_far_words_have_a_leader_that_ends_just_short_of_them():
    crowd = np.array([[x, y] for x in np.arange(16, 20, 0.2) for y in np.arange(7, 11, 0.2)])
    spot = place_words([asked("far", 18.0, 9.0, (2.5, 1.0))], room(marks=crowd))["far"]
    assert spot.leader is not None
    left, top, right, bottom = box(spot)
    x, y = spot.leader[1]
    away = np.hypot(max(left - x, x - right, 0.0), max(top - y, y - bottom, 0.0))
    assert 0.2 < away < 0.3, "heights of a line: nearer it seems part of the first letter"


def test_words_do_not_begin_on_the_axis():
    for x in np.arange(0.0, 3.0, 0.1):
        spot = place_words([asked("fitted", x, 9.0, (7.0, 1.0), (-1.0, 1.0))], room())["fitted"]
        assert spot.x >= 0.4, "of the height of a line"


def test_words_stand_right_by_a_mark_without_a_leader():
    for y in np.arange(8.0, 9.0, 0.05):  # wherever the mark falls on the raster
        mark = np.array([(18.0, y), (18.0, y - 0.25), (18.0, y + 0.25)])
        spot = place_words([asked("rate", 18.0, y, (1.2, 1.0), (0.0, -1.0))], room(marks=mark))
        assert spot["rate"].leader is None and y - spot["rate"].y - 1.0 == pytest.approx(0.75)


def test_words_find_no_place_where_there_is_none():
    wall = np.array([(x, y) for y in np.arange(0, 19, 0.2) for x in (0.0, 36.0)])
    assert place_words([asked("none", 18.0, 9.0)], room(edges=wall)) == {}


def test_a_place_kept_from_a_larger_plot_is_given_up_where_it_would_be_cut():
    kept: dict[str, int] = {}
    wanted = asked("word", 4.0, 9.0)
    assert place_words([wanted], room(), kept)
    assert place_words([wanted], room(width=5.0), kept) == {}


def test_words_of_two_things_do_not_stand_as_lines_of_one_text():
    two = [asked("one", 18.0, 9.0, toward=(1.0, 0.0)), asked("two", 18.0, 10.1, toward=(1.0, 0.0))]
    one, other = place_words(two, room()).values()
    across = max(one.x, other.x) - min(one.x + one.width, other.x + other.width)
    down = max(one.y, other.y) - min(one.y + one.height, other.y + other.height)
    assert across > 0.0 or down > 0.4


def test_words_keep_off_a_point_of_which_only_others_speak():
    ringed = asked("ringed", 18.0, 9.0)
    line = Asking("line", (5.5, 1.0), np.array([(17.0, 9.2), (10.0, 15.0)]))
    found = place_words([line, ringed], room())
    left, top, right, bottom = box(found["line"])
    assert max(left - 18.0, 18.0 - right, top - 9.0, 9.0 - bottom) > 1.0


def test_a_line_is_named_where_no_mark_stands_on_it():
    spots = np.array([(10.0, 9.0), (20.0, 9.0)])
    wanted = Asking("line", (5.5, 1.0), spots)
    for at, chosen in ((10.0, 1), (20.0, 0)):
        spot = place_words([wanted], room(marks=np.array([(at, 9.0)])))["line"]
        assert abs(spot.x + 0.5 * spot.width - spots[chosen][0]) < 5.0


def test_leaders_run_over_marks_only_where_there_is_no_other_way():
    shut = [(x, y) for x in np.arange(14.0, 22.1, 0.2) for y in np.arange(7.0, 11.1, 0.2)]
    row = np.array([(x, y) for x in np.arange(10.0, 26.0, 0.2) for y in (6.0, 6.5)])
    around = room(edges=np.array([p for at in shut for p in (at, (np.nan, np.nan))]), marks=row)
    leader = place_words([asked("far", 18.0, 9.0, toward=(0.0, -1.0))], around)["far"].leader
    assert leader is not None and not any(crossed((x, y, x + 0.2, y + 0.2), leader) for x, y in row)


def test_close_words_are_left_out_rather_than_led_over_another_line():
    below = np.array([(0.0, 10.5), (36.0, 10.5)])
    shut = [(x, y) for x in np.arange(0.0, 36.1, 0.2) for y in np.arange(0.2, 10.2, 0.2)]
    field = room(lines=below, edges=np.array([p for at in shut for p in (at, (np.nan, np.nan))]))
    spots = np.array([(18.0, 9.0)])
    for close, found in ((False, ["name"]), (True, [])):
        wanted = Asking("name", (5.5, 1.0), spots, must=True, close=close)
        assert list(place_words([wanted], field)) == found


def test_dense_follows_a_vertical_jump_and_breaks_where_there_is_no_place():
    points = dense(np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 9.0), (np.nan, np.nan), (30.0, 9.0)]))
    assert (np.abs(points[:, 0] - 10.0) < 1e-9).sum() >= 30
    assert not ((points[:, 0] > 10.1) & (points[:, 0] < 29.9)).any()


def measure(label: Label) -> tuple[float, float]:
    return 3.0 + 0.55 * len(
        str(label.words.code if hasattr(label.words, "code") else label.words)
    ), 1.0


def on_the_plot(figure: Figure, size, x, y):
    per = size[0] / (figure.x.high - figure.x.low), size[1] / (figure.y.high - figure.y.low)
    return np.array([(x - figure.x.low) * per[0], size[1] - (y - figure.y.low) * per[1]])


@pytest.mark.parametrize("size", [(60.0, 22.0), (30.0, 14.0)])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_words_on_an_edge_of_the_band_a_check_point_or_a_limit(path: Path, frame: str, size):
    docket = read_docket(path)
    before = outcome(put(docket, ("mechanism", "springs", 0, "rate_n_per_mm"), 1.5))
    figure = speed_figure(outcome(docket), view_of(docket, frame), before=before)
    placed = place_labels(figure, *size, measure)
    assert {label.key for label in figure.labels if label.must} <= set(placed) | {"start"}
    gates, bounds = figure.gates, figure.bounds
    lines = [
        [on_the_plot(figure, size, g.x, getattr(g, end)) for g in gates] for end in ("low", "high")
    ]
    lines += [
        [
            on_the_plot(figure, size, g.x, max(g.low, figure.y.low)),
            on_the_plot(figure, size, g.x, min(g.high, figure.y.high)),
        ]
        for g in gates
    ]
    for bound in bounds:
        if bound.kind == "ceiling":
            ends = [(figure.x.low, bound.at), (figure.x.high, bound.at)]
        else:
            top = bound.foot + START_SHARE * (figure.y.high - figure.y.low)
            ends = [(bound.at, bound.foot), (bound.at, top)]
        lines.append([on_the_plot(figure, size, *end) for end in ends])
    for spot in placed.values():
        area = box(spot)
        assert area[0] >= 0 and area[1] >= 0 and area[2] <= size[0] and area[3] <= size[1]
        for line in lines:
            for one, other in pairwise(line):
                assert not crossed(area, (one, other))


def test_a_leader_does_not_end_on_the_bar_of_a_check_point():
    """A curve that may be named on the bar of a check point, or well beside it: there are the words
    of the curve, and none that would seem to be of the check point."""
    x = np.linspace(0.0, 3600.0, 200)
    named = Label("rising", "Predicted", ((1800.0, 5.0), (2700.0, 7.5)), "rising", (-1.0, 1.0))
    curve = Trace("rising", x, x / 360.0)
    axes = Axis("Speed", 0.0, 3600.0), Axis("Advance", 0.0, 12.0)
    of = {}
    for name, gates in (("free", ()), ("barred", (CheckSpan(0, 1810.0, 3.0, 7.0, "inside"),))):
        figure = Figure(*axes, traces=(curve,), gates=gates, labels=(named,))
        spot = place_labels(figure, 60.0, 24.0, lambda _label: (6.0, 1.0))["rising"]
        of[name] = spot.x + spot.width / 2 if spot.leader is None else spot.leader[0][0]
    assert abs(of["free"] - 30.0) < 6.0 < abs(of["barred"] - 30.0)


def test_words_and_leaders_keep_off_what_the_painter_has_there_besides():
    named = Label("curve", "Predicted", ((30.0, 5.0),), "ink", (0.0, 1.0))
    figure = Figure(Axis("x", 0.0, 60.0), Axis("y", 0.0, 20.0), labels=(named,))
    free = place_labels(figure, 60.0, 20.0, lambda _label: (6.0, 1.0))["curve"]
    sign = free.x + 1.0, free.y, free.x + 2.0, free.y + 1.0
    spot = place_labels(figure, 60.0, 20.0, lambda _label: (6.0, 1.0), taken=[sign])["curve"]
    assert overlap(box(free), sign) and not overlap(box(spot), sign)
    assert spot.leader is None or not crossed(sign, spot.leader)


@pytest.mark.parametrize("kind", ["start", "stop", "ceiling"])
def test_words_stand_clear_of_the_hatch_of_a_limit(kind: str):
    """The hatch is 7 px wide, nearly half the height of a line of usual type."""
    at = 10.0 if kind == "ceiling" else 30.0
    spot = (30.0, 2.0 if kind == "start" else 10.0)
    toward = {"start": (-1.0, 0.0), "stop": (1.0, 0.0), "ceiling": (0.0, 1.0)}[kind]
    named = Label("limit", "limit", (spot,), "ink", toward)
    figure = Figure(Axis("x", 0.0, 60.0), Axis("y", 0.0, 20.0), bounds=(Bound(kind, at),),
                    labels=(named,))  # fmt: skip
    left, top, right, bottom = box(place_labels(figure, 60.0, 20.0, lambda _: (6.0, 1.0))["limit"])
    away = {"start": 30.0 - right, "stop": left - 30.0, "ceiling": 10.0 - bottom}[kind]
    assert away > 0.7 and (top < 18.0)


def test_words_do_not_run_over_the_end_of_an_area():
    x = np.array([20.0, 50.0])
    zone = Zone("allowed", x, np.full(2, 6.0), np.full(2, 14.0))
    named = Label("even", "as the table", ((20.0, 10.0),), "band", (-1.0, 1.0))
    figure = Figure(Axis("x", 0.0, 60.0), Axis("y", 0.0, 20.0), zones=(zone,), labels=(named,))
    left, _, right, _ = box(place_labels(figure, 60.0, 20.0, lambda _: (7.0, 1.0))["even"])
    assert not left < 20.0 < right


@pytest.mark.parametrize("size", [(60.0, 30.0), (80.0, 36.0)])
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_words_on_a_map_stand_between_its_contours_and_off_what_is_forbidden(path: Path, size):
    docket = read_docket(path)
    figure = total_figure(outcome(docket), view_of(docket), posed_rpm=800.0)
    surface = figure.surface
    height = RegularGridInterpolator((surface.x, surface.y), surface.height)
    for key, spot in place_labels(figure, *size, lambda _: (5.5, 1.0)).items():
        left, top, right, bottom = box(spot)
        x = figure.x.low + np.linspace(left, right, 40) / size[0] * (figure.x.high - figure.x.low)
        y = figure.y.high - np.linspace(top, bottom, 9) / size[1] * (figure.y.high - figure.y.low)
        found = height(np.stack(np.meshgrid(x, np.maximum(y, 0.0)), -1).reshape(-1, 2))
        between = np.searchsorted(np.array(surface.levels) + 1e-6, found)
        assert between.min() == between.max(), key
        assert surface.ceiling is None or found.max() <= surface.ceiling, key


def test_a_spring_taken_up_is_marked_only_where_words_say_so():
    docket = read_docket(SAMPLES[-1])
    figure = torque_figure(outcome(docket), view_of(docket))
    assert [event.kind for event in figure.events] == ["take-up"]
    places = place_labels(figure, 60.0, 40.0, measure)
    without = {key: spot for key, spot in places.items() if not key.startswith("take-up")}
    assert named_events(figure, without) == ()
    told = {**without, "take-up1": Placed(0.0, 0.0, 1.0, 1.0, None, 0)}
    assert named_events(figure, told) == figure.events
