"""What the sheet says and how it is laid out, without Qt."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bobweight.core.docket.mechanism import LINKAGES, Linkage, Mechanism, Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.figure.description import Word
from bobweight.core.figure.numbers import MINUS, figure, short
from bobweight.core.figure.view import View, view_of
from bobweight.core.judgement.answer import Judgement
from bobweight.core.judgement.judged import judged_outcome
from bobweight.core.judgement.outcome import outcome
from bobweight.core.judgement.posterior import CurveBand
from bobweight.core.problems import required
from bobweight.core.sheet import blocks
from bobweight.core.sheet.blocks import check_point_rows, spring_rows, vacuum_rows
from bobweight.core.sheet.description import (
    BLACK,
    LEAST_LINE_MM,
    LEAST_TEXT_PT,
    PAPERS,
    Line,
    Marks,
    PaperPage,
    Paragraph,
    Polyline,
    Rect,
    Text,
    plain,
    wrap,
)
from bobweight.core.sheet.docket_sheet import docket_sheet
from bobweight.core.sheet.layout import scale_bar
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.plot import AxisScale
from bobweight.core.sheet.values import csv_text, rows
from bobweight.core.units import percent
from tests.sheet import dockets
from tests.strategies import dockets as any_docket

CASES = [(name, paper) for name in dockets.DOCKETS for paper in PAPERS]


def page_of(name: str, paper: str = "a4", view: View | None = None) -> PaperPage:
    return docket_sheet(dockets.judged(name), paper, view).pages[0]


def codes(page: PaperPage) -> set[str]:
    return {
        e.text.code
        for e in page.elements
        if isinstance(e, Text | Paragraph) and isinstance(e.text, Word)
    }


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_pages_inside_their_margins(name: str, paper: str) -> None:
    description = docket_sheet(dockets.judged(name), paper)
    assert len(description.pages) <= 2
    for page in description.pages:
        assert_inside(page, paper)


def assert_inside(page: PaperPage, paper: str) -> None:
    assert (page.width_mm, page.height_mm) == PAPERS[paper]
    for element in page.elements:
        if isinstance(element, Text | Paragraph):
            x, y = [element.x_mm], [element.y_mm]
        elif isinstance(element, Line):
            x, y = [element.x1_mm, element.x2_mm], [element.y1_mm, element.y2_mm]
        elif hasattr(element, "points"):
            x, y = zip(*element.points, strict=True)
        else:
            x = [element.x_mm, element.x_mm + element.width_mm]
            y = [element.y_mm, element.y_mm + element.height_mm]
        assert np.isfinite([*x, *y]).all()
        assert min(x) >= page.margin_mm - 1e-6
        assert max(x) <= page.width_mm - page.margin_mm + 1e-6
        assert min(y) >= page.margin_mm - 1e-6
        assert max(y) <= page.height_mm - page.margin_mm + 1e-6


@pytest.mark.parametrize("name", dockets.DOCKETS)
def test_nothing_too_fine_to_survive_a_photocopy(name: str) -> None:
    for element in page_of(name).elements:
        if isinstance(element, Text | Paragraph):
            assert element.size_pt >= LEAST_TEXT_PT
        elif isinstance(element, Polyline):  # curves and bands are black, told apart by dashes
            assert element.width_mm >= LEAST_LINE_MM
            assert element.grey == BLACK
        elif isinstance(element, Line):
            assert element.width_mm >= LEAST_LINE_MM
        elif isinstance(element, Marks):
            assert element.line_mm >= LEAST_LINE_MM
            assert element.size_mm >= 1.5


def test_check_point_cells_are_the_numbers_of_the_core() -> None:
    judged = dockets.judged("usual")
    comparison = judged.comparison
    table = check_point_rows(judged, View())
    assert len(table.rows) == len(comparison.check_points) + 2  # start and ceiling besides
    assert len(comparison.check_points) == 6
    for row, point in zip(table.rows[1:-1], comparison.check_points, strict=True):
        speed, required, predicted, off, measured, measured_off, chance, decision = row
        assert speed.text == f"{point.speed_rpm:.0f}"
        assert required.text.facts == {
            "low": f"{point.low_deg:.1f}", "high": f"{point.high_deg:.1f}",
        }  # fmt: skip
        assert predicted.text == f"{point.predicted_deg:.1f}"
        middle = (point.low_deg + point.high_deg) / 2
        assert float(off.text.replace(MINUS, "-")) == round(point.predicted_deg - middle, 1)
        assert measured.text == f"{point.estimate_deg:.1f} ± {point.u_deg:.1f}"
        assert float(measured_off.text.replace(MINUS, "-")) == pytest.approx(
            point.estimate_deg - middle, abs=0.0500001
        )
        assert chance.text == f"{100 * point.probability_inside:.0f} %"
        assert decision.text.code == "verdict-" + point.verdict.value.replace(" ", "-")
    assert table.rows[0][0].text.facts["speed"] == f"{comparison.start.speed_rpm:.0f}"
    assert table.rows[-1][1].text.facts["value"] == f"{comparison.ceiling.high_deg:.1f}"


def test_crank_figures_are_the_distributor_figures_times_the_ratio() -> None:
    judged = dockets.judged("usual")
    view = View(frame="crank", drive_ratio=2.0, depression_unit="inHg")
    point = judged.comparison.check_points[0]
    row = check_point_rows(judged, view).rows[1]
    assert row[0].text == f"{2 * point.speed_rpm:.0f}"
    assert row[2].text == f"{2 * point.predicted_deg:.1f}"
    depression = vacuum_rows(judged, view).rows[1][0].text
    # 25 kPa / 3.386389 kPa per inHg: NIST SP 811 (2008), Appendix B.8
    assert depression == f"{25.0 / 3.386389:.1f}"


def test_spring_cells_give_what_was_stated() -> None:
    table = spring_rows(dockets.judged("usual"), View())
    primary, secondary = table.rows
    assert primary[2].text == "1.1 ± 0.04"
    assert secondary[4].text == "0.9"
    take_up = dockets.judged("usual").prediction.take_ups[0]
    assert take_up.spring == 1
    assert secondary[-1].text == f"{take_up.advance_deg:.1f}"


def test_long_tables_say_how_much_is_left_out() -> None:
    judged = dockets.judged("fullest")
    options = SheetOptions(one_page=True)
    (page,) = docket_sheet(judged, "letter", options=options).pages
    left_out = [
        e.text.facts["count"] for e in page.elements
        if isinstance(e, Text) and isinstance(e.text, Word) and e.text.code == "more-in-docket"
    ]  # fmt: skip
    rules = {
        "check": len(check_point_rows(judged, View()).rows),
        "vacuum": len(vacuum_rows(judged, View()).rows),
        "springs": len(spring_rows(judged, View()).rows),
    }
    shown = [total - left for total, left in zip(rules.values(), left_out, strict=True)]
    assert all(count >= 3 for count in shown)
    decisions = [
        e for e in page.elements
        if isinstance(e, Text) and isinstance(e.text, Word) and e.text.code.startswith("verdict-")
    ]  # fmt: skip
    assert len(decisions) == shown[0] + shown[1]


def test_what_is_empty_is_left_out() -> None:
    empty = codes(page_of("empty"))
    assert {"no-curve", "cautions", "name", "date"} <= empty
    assert not empty & {"capsule", "check-points", "springs", "settings", "remarks", "not-printed"}
    alone = codes(page_of("capsule_only"))
    assert "capsule" in alone
    assert "curve" not in alone
    bare = codes(page_of("no_capsule"))
    assert "check-points" in bare
    assert "capsule" not in bare


@pytest.mark.parametrize("name", dockets.DOCKETS)
def test_cautions_are_always_there_and_no_bar_where_nothing_is_at_true_size(name: str) -> None:
    assert {"cautions", "name", "date"} <= codes(page_of(name))
    assert "scale-bar" not in codes(page_of(name))


def test_where_a_figure_is_doubted_the_curve_judged_is_drawn_and_none_predicted() -> None:
    known = dockets.judged("usual")
    speed, level = np.array([400.0, 1200.0]), np.array([0.0, 10.0])
    band = CurveBand(speed, level, level - 0.5, level + 0.5)
    judgement = Judgement(known.docket, bare=True, band=band, probability_inside=0.9)
    sheet = docket_sheet(known, options=SheetOptions(judgement=judgement))
    first = codes(sheet.pages[0])
    assert {"figures-doubted", "fitted-with-band"} <= first
    assert "figures-doubted" in codes(sheet.pages[1])  # beside the figures themselves
    assert not {"starts-at", "predicted", "predicted-rising", "from-rest"} & first
    assert "starts-at" in codes(page_of("usual"))
    table = csv.DictReader(io.StringIO(csv_text(judged_outcome(known, judgement))))
    assert not any(row["predicted_deg"] for row in table if row["speed_rpm"])


def test_readings_beyond_the_plot_are_told() -> None:
    counted = [
        e.text.facts["count"] for e in page_of("wild").elements
        if isinstance(e, Text) and isinstance(e.text, Word) and e.text.code == "beyond-the-plot"
    ]  # fmt: skip
    assert counted == [2]


def test_every_usable_reading_is_drawn_once() -> None:
    judged = dockets.judged("usual")
    (page,) = docket_sheet(judged, options=SheetOptions(one_page=True)).pages
    marks = [e for e in page.elements if isinstance(e, Marks) and e.size_mm == 2.1]
    drawn = {shape: sum(len(m.points) for m in marks if m.shape == shape)
             for shape in ("up", "down", "cross")}  # fmt: skip
    readings = dockets.usual().sessions[0].readings
    used = [r for r in readings if not r.left_out]
    key = 1  # each shape stands once more in the key
    assert drawn["up"] == sum(r.direction == "rising" for r in used) + key
    assert drawn["down"] == sum(r.direction == "falling" for r in used) + key
    assert drawn["cross"] == sum(r.left_out for r in readings) + key
    assert len(judged.reduced.index) == len(readings)


def test_curve_points_are_where_the_axes_say() -> None:
    """Read the drawn rising curve back through the printed numbers of the axes."""
    judged = dockets.judged("mechanism_only")
    page = page_of("mechanism_only")
    numbers = [e for e in page.elements if isinstance(e, Text) and isinstance(e.text, str)]
    curve = max((e for e in page.elements if isinstance(e, Polyline)), key=lambda e: e.width_mm)
    bottom = max(e.y_mm for e in numbers if e.text == "400" and e.align == "centre")
    across = {float(e.text): e.x_mm for e in numbers if e.y_mm == bottom and e.align == "centre"}
    up = {float(e.text): e.y_mm - 1.0 for e in numbers if e.align == "right" and e.x_mm < 30
          and e.text.isdigit() and e.y_mm < bottom - 3}  # fmt: skip
    scale_x = np.polyfit(list(across.values()), list(across), 1)
    scale_y = np.polyfit(list(up.values()), list(up), 1)
    points = np.array(curve.points)
    speed, advance = np.polyval(scale_x, points[:, 0]), np.polyval(scale_y, points[:, 1])
    some = (speed > 430) & (speed < 950)
    expected = judged.prediction.advance_deg(speed[some])
    assert some.sum() > 50
    assert np.abs(advance[some] - expected).max() < 0.02


def test_csv_reads_back_exactly() -> None:
    judged = dockets.judged("usual")
    texts = {"part", "direction", "decision", "left_out"}
    back = [
        {k: v if k in texts else float(v) for k, v in row.items() if v}
        for row in csv.DictReader(io.StringIO(csv_text(judged)))
    ]
    made = [
        {k: v for k, v in row.items()
         if v is not None and not (isinstance(v, float) and not math.isfinite(v))}
        for row in rows(judged)
    ]  # fmt: skip
    assert back == made
    predicted = [r for r in back if r["part"] == "predicted" and r["direction"] == "rising"]
    assert [r["speed_rpm"] for r in predicted] == judged.prediction.rising.speed_rpm.tolist()
    assert [r["advance_deg"] for r in predicted] == judged.prediction.rising.advance_deg.tolist()
    points = [r for r in back if r["part"] == "check point"]
    assert [r["advance_deg"] for r in points] == [
        p.estimate_deg for p in judged.comparison.check_points
    ]
    assert sum(r["part"] == "reading" for r in back) == 22


@given(
    st.floats(-50, 50), st.floats(0.5, 20000), st.integers(3, 14),
)  # fmt: skip
def test_numbers_of_an_axis_stand_at_round_steps(low: float, span: float, most: int) -> None:
    scale = AxisScale.over(low, low + span, most, 0.0, 100.0)
    ticks = scale.ticks()
    assert 1 <= len(ticks) <= most + 1
    assert low - 1e-6 * span <= ticks[0] and ticks[-1] <= low + span * (1 + 1e-6)
    assert np.allclose(np.diff(ticks), scale.step)
    mantissa = scale.step / 10 ** math.floor(math.log10(scale.step) + 1e-9)
    assert round(mantissa, 6) in (1.0, 2.0, 2.5, 5.0)
    written = [float(text.replace(MINUS, "-")) for text, _ in scale.numbers()]
    assert np.allclose(written, ticks, atol=1e-6 * span)


@given(st.floats(0.25, 8.0), st.floats(5.0, 9000.0))
def test_second_scale_stands_where_its_numbers_say(factor: float, high: float) -> None:
    scale = AxisScale.over(0.0, high, 9, 20.0, 120.0)
    numbers = scale.numbers(factor)
    assert 3 <= len(numbers) <= 14
    for text, place in numbers:
        assert place == pytest.approx(scale.mm(float(text) / factor), abs=1e-6)


def test_second_scale_shares_the_ticks_where_it_can() -> None:
    scale = AxisScale.over(0.0, 1500.0, 9, 0.0, 100.0)
    assert [place for _, place in scale.numbers(2.0)] == pytest.approx(
        [place for _, place in scale.numbers()]
    )


def test_numbers_are_written_plainly() -> None:
    assert figure(-0.04) == "0.0"
    assert figure(-1.25, 2) == f"{MINUS}1.25"
    assert figure(0.5, 1, signed=True) == "+0.5"
    assert figure(float("nan")) == figure(None) == ""
    assert short(25.90) == "25.9"
    assert short(100.0) == "100"
    assert (percent(0.9999), percent(0.0001), percent(0.5)) == (">99 %", "<1 %", "50 %")


@given(st.text(alphabet="ab \n", max_size=60), st.integers(1, 12))
def test_wrapping_keeps_every_word_and_the_width(text: str, width: int) -> None:
    lines = wrap(text, width, len)
    assert " ".join(lines).split() == text.split()
    assert all(len(line) <= width or " " not in line for line in lines)
    assert all(lines)


def test_no_word_stands_alone_on_the_last_line_where_another_can_be_spared() -> None:
    """Common practice of setting text: no paragraph ends in a line of a single word."""
    assert wrap("one two three four", 13, len) == ["one two", "three four"]
    assert wrap("one two", 4, len) == ["one", "two"], "none is spared"
    assert wrap("a of considerable", 12, len) == ["a of", "considerable"], "no room for two"
    assert wrap("one two three\nfour", 13, len) == ["one two three", "four"]


def test_plain_drops_what_cannot_be_printed() -> None:
    assert plain("  a\tb\n\x07c ") == "a b c"


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(any_docket(), st.sampled_from(sorted(PAPERS)), st.sampled_from(["distributor", "crank"]))
def test_any_docket_makes_pages_of_finite_places(docket, paper: str, frame: str) -> None:
    judged = outcome(docket)
    view = View(frame, docket.particulars.ratio_taken, "inHg")
    (alone,) = docket_sheet(judged, paper, view, options=SheetOptions(one_page=True)).pages
    pages = docket_sheet(judged, paper, view).pages
    assert len(pages) <= 2
    for element in (e for page in (alone, *pages) for e in page.elements):
        places = getattr(element, "points", ())
        numbers = [v for v in vars(element).values() if isinstance(v, float)]
        assert np.isfinite([*np.ravel(places), *numbers]).all()
    assert csv_text(judged).count("\r\n") == len(list(rows(judged))) + 1


def test_scale_bar_measures_its_length_between_outer_edges() -> None:
    lines = [e for e in scale_bar(10.0, 50.0) if isinstance(e, Line)]
    left = min(min(e.x1_mm, e.x2_mm) - (e.width_mm / 2 if e.x1_mm == e.x2_mm else 0) for e in lines)
    right = max(max(e.x1_mm, e.x2_mm) + (e.width_mm / 2 if e.x1_mm == e.x2_mm else 0)
                for e in lines)  # fmt: skip
    assert right - left == pytest.approx(100.0, abs=1e-9)


@pytest.mark.parametrize("kind", LINKAGES)
def test_settings_name_the_linkage_and_give_its_figures(kind: str) -> None:
    linkage = Linkage(kind=kind, ratio=0.6, pin_radius_mm=11.0, pin_angle_deg=20.0,
                      foot_radius_mm=12.0, link_mm=9.0)  # fmt: skip
    docket = replace(dockets.usual(), mechanism=replace(dockets.MECHANISM, linkage=linkage))
    said = {
        label.facts.get("text", label.code): value
        for label, value in blocks.settings(docket, View())
    }
    assert said["Linkage"].facts["text"] == LINKAGES[kind]
    figures = {
        "constant": ["0.6"], "slot": ["11 mm", "20°"], "link": ["11 mm", "20°", "12 mm", "9 mm"],
        "measured": ["0"], "learned": ["0"],
    }  # fmt: skip
    names = list(said)
    following = [said[name] for name in names[names.index("Linkage") + 1 :]]
    assert following[: len(figures[kind])] == figures[kind]


def test_what_nobody_measured_is_no_nought() -> None:
    """On the sheet of a unit that was only read "drag of the heel 0 N·mm" would be a finding; of
    slack and tension a nought is one where it was entered."""
    known = Spring(role="primary", rate_n_per_mm=2.5, free_length_mm=24.4, slack_mm=0.0)
    springs = (known, Spring(role="secondary"))
    docket = replace(dockets.usual(), mechanism=Mechanism(springs=springs))
    assert [label.facts["text"] for label, _ in blocks.settings(docket, View())] == []
    drag = replace(docket.mechanism, stick_nmm=0.0, u={"stick_nmm": 0.5})
    measured = replace(docket, mechanism=drag)
    assert blocks.settings(measured, View())[-1][1] == "0 ± 0.5 N·mm"
    named = {label.facts["text"] for label, _ in blocks.particulars(docket)}
    assert {"Cam lobes", "Rotation"} <= named
    unknown = docket.with_changes(particulars=Particulars(title="A job", owner="B. Wren"))
    named = {label.facts["text"] for label, _ in blocks.particulars(unknown)}
    assert not {"Cam lobes", "Rotation"} & named and "Owner" in named
    rows = required(spring_rows(outcome(docket), view_of(docket))).rows
    first, second = ([cell.text for cell in row] for row in rows)
    assert first.count("0") == 2 and "0" not in second  # slack, and the tang not bent


@pytest.mark.parametrize(
    ("unit", "told"),
    [("kPa", "44.3"), ("inHg", "13.1"), ("bar", "0.443"), ("psi", "6.4"), ("mbar", "443")],
)
def test_a_depression_keeps_its_figures_in_every_unit(unit: str, told: str) -> None:
    """NIST SP 811 (2008), Appendix B.8: 44.3 kPa is 13.08 inHg, 6.425 psi and 0.443 bar."""
    assert View(depression_unit=unit).depression(44.3) == told


def test_readings_beyond_the_plot_stand_at_its_edge() -> None:
    """Nothing that was read is missing from the picture: each has its mark, inside the frame."""
    page, judged = page_of("wild"), dockets.judged("wild")
    shapes = ("up", "down", "ring", "cross")
    marks = [e for e in page.elements if isinstance(e, Marks) and e.shape in shapes
             and e.size_mm == 2.1]  # fmt: skip
    frame = max((e for e in page.elements if isinstance(e, Rect)), key=lambda e: e.height_mm)
    at = [p for m in marks for p in m.points]
    inside = [x for x, y in at if frame.x_mm < x < frame.x_mm + frame.width_mm
              and frame.y_mm < y < frame.y_mm + frame.height_mm]  # fmt: skip
    read = [r for r in judged.docket.sessions[0].readings if r.depression_kpa is None]
    assert len(inside) == len(read)
