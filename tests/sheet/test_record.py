"""The record on the sheet, the prints for the engine, and the workshop's heading."""

from __future__ import annotations

import io
import itertools
from dataclasses import replace

import numpy as np
import pypdf
import pytest
from PySide6.QtCore import QBuffer, QByteArray, QIODevice
from PySide6.QtGui import QImage

from bobweight.app.paper.output import describe, joined, pdf_bytes
from bobweight.app.paper.type import FontRuler
from bobweight.app.paper.words import worded
from bobweight.core.bench.lamp import Lamp, shown_deg
from bobweight.core.bench.reassembly import check_list
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import docket_from_text, docket_to_text
from bobweight.core.docket.findings import Findings, LeakReading, LobeAngle
from bobweight.core.docket.history import Alteration, without_session
from bobweight.core.docket.points import Points
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.figure.description import Word
from bobweight.core.judgement.compare import Comparison, PointResult
from bobweight.core.judgement.outcome import outcome
from bobweight.core.sheet.check_list import check_list_sheet
from bobweight.core.sheet.description import (
    PAPERS,
    Description,
    Line,
    Marks,
    PaperPage,
    Picture,
    Rect,
    Text,
)
from bobweight.core.sheet.engine_sheets import lamp_sheet, session_sheet, session_speeds
from bobweight.core.sheet.layout import flow
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.record import Compared, _compared_phrases
from bobweight.core.sheet.workshop import Logo, Workshop
from bobweight.core.statistics.conformity import Conformity
from tests.sheet import dockets
from tests.sheet.measuring import box, texts

pytestmark = pytest.mark.usefixtures("qapp")
FINDINGS = Findings(
    side_play_mm=0.18, end_float_mm=0.15, gap_mm=0.38, dwell_deg=60.0, dwell_change_deg=1.0,
    spring_n=5.4, condenser_uf=0.21, insulation_mohm=200.0, earth_drop_v=0.06, rotor_kohm=5.2,
    weight_difference_g=0.3, pivot_clearance_mm=0.06, earth_lead="doubtful", rotor="sound",
    cap="faulty", weights_free="sound", plate="sound", notes="Earth lead frayed at the plate.",
    lobes_deg=tuple(LobeAngle(firing_deg=a) for a in (0.0, 90.4, 179.8, 270.1)), u_lobe_deg=0.1,
    leak=(LeakReading(time_s=0.0, depression_kpa=40.0),
          LeakReading(time_s=60.0, depression_kpa=38.5)),
    u={"side_play_mm": 0.01},
)  # fmt: skip
WORKSHOP = Workshop("Tern & Daughter, ignition repairs", ("The Old Forge", "Marsh Lane"))


def recorded() -> Docket:
    """A unit read, altered and read again."""
    docket = dockets.usual()
    before = dockets.session(shift_deg=2.5, seed=8)
    after = replace(dockets.session(), title="After the post was bent", date="2024-03-09")
    made = (
        Alteration(date="2024-03-08", what="Primary post bent out", amount=0.6, unit="mm",
                   before_session=1, after_session=2),
        Alteration(date="2024-03-08", what="Cam greased", note="It was dry"),
    )  # fmt: skip
    points = Points(flat_mm=8.0, lever_ratio=1.2, known_gap_mm=0.38, known_dwell_deg=60.0,
                    set_gap_mm=0.38)  # fmt: skip
    return replace(docket, sessions=(before, after), findings=FINDINGS, history=made,
                   points=points)  # fmt: skip


def overfull() -> Docket:
    """Every list long, and everything recorded."""
    docket = recorded()
    full = dockets.fullest()
    history = tuple(
        Alteration(date=f"2024-04-{n + 1:02}", what="A long tale of what was done to it " * 3,
                   amount=0.1 * n, unit="mm", before_session=1, after_session=2, note="so " * 30)
        for n in range(25)
    )  # fmt: skip
    return replace(full, findings=FINDINGS, history=history, points=docket.points)


def picture(width: int, height: int) -> Logo:
    image = QImage(width, height, QImage.Format.Format_RGB32)
    image.fill(0)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return Logo(bytes(data), width / height)


def said(page: PaperPage) -> str:
    return "\n".join(words for words, _, _ in texts(page))


def assert_good(description: Description) -> None:
    """No text meets another, and everything stands inside the margins."""
    for page in description.pages:
        found = list(texts(page))
        for (one, _, a), (other, _, b) in itertools.combinations(found, 2):
            apart = max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
            assert apart > 0.1, (one, other, apart)
        boxes = [extent for _, _, extent in found]
        boxes += [extent for extent in map(box, page.elements) if extent is not None]
        for left, top, right, bottom in boxes:
            assert left >= page.margin_mm - 0.3
            assert right <= page.width_mm - page.margin_mm + 0.3
            assert top >= page.margin_mm - 0.3
            assert bottom <= page.height_mm - page.margin_mm + 0.3


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("pages", [1, 2])
@pytest.mark.parametrize("make", [recorded, overfull, dockets.empty, dockets.capsule_only])
def test_pages_hold_what_they_should(make, pages: int, paper: str) -> None:
    known = outcome(make())
    for workshop in (Workshop(), WORKSHOP, replace(WORKSHOP, logo=picture(300, 100))):
        options = SheetOptions(pages, workshop=workshop)
        made = describe(known, paper, None, options)
        assert 1 <= len(made.pages) <= pages + 1  # what does not fit the first page goes overleaf
        assert_good(made)
        assert len(pypdf.PdfReader(io.BytesIO(pdf_bytes(made))).pages) == len(made.pages)
        if pages == 1:
            alone = describe(known, paper, None, replace(options, one_page=True))
            assert len(alone.pages) == 1
            assert_good(alone)


def test_the_sheet_tells_the_record() -> None:
    made = describe(outcome(recorded()), "a4")
    text = "\n".join(said(page) for page in made.pages)
    told = ("side play of the shaft", "Primary post bent out", "8° before top dead centre",
            "Before and after", "before, rising")  # fmt: skip
    for words in told:
        assert words in text, words
    assert "more in the docket" not in text


def test_what_there_was_no_room_for_is_counted() -> None:
    """Three borderline and two named is one untold; whatever the width, told and untold are all."""
    phrases = [f"Borderline: part {number}." for number in range(9)]
    ruler, seen = FontRuler(), set()
    for width_mm in range(40, 400, 4):
        told = [worded(text.text) for text in flow(0, 0, width_mm, phrases, ruler, 2)[0]]
        named = [words for words in told if words in phrases]
        untold = len(phrases) - len(named)
        said_more = {0: [], 1: ["And one more."]}.get(untold, [f"And {untold} more."])
        assert [*phrases[: len(named)], *said_more] == told
        seen.add(untold)
    assert {0, 1} <= seen and max(seen) > 1


def test_second_page_tells_it_at_length() -> None:
    judged = outcome(recorded())
    text = said(describe(judged, "a4", None, SheetOptions(2)).pages[-1])
    for words in ("Before and after", "As found, 2024-03-06", "After the post was bent",
                  "Findings", "Side play of the shaft", "0.18 ± 0.01 mm", "at most 0.1 mm",
                  "fail", "Alterations made", "Primary post bent out", "0.6 mm", "1 As found",
                  "Setting up", "Light cruise", "Page 3 of 3", "Earth lead frayed"):  # fmt: skip
        assert words in text, words
    before = outcome(recorded(), 0)
    for old, new in zip(before.comparison.check_points, judged.comparison.check_points,
                        strict=True):  # fmt: skip
        moved = new.estimate_deg - old.estimate_deg
        assert f"{old.estimate_deg:.1f} ± {old.u_deg:.1f}" in text
        assert f"{moved:+.1f}".replace("-", "−") in text


def test_both_sessions_are_drawn_and_told_apart_by_shape() -> None:
    page = describe(outcome(recorded()), "a4").pages[0]
    shapes = {(m.shape, m.filled): sum(len(e.points) for e in page.elements if isinstance(e, Marks)
                                       and (e.shape, e.filled) == (m.shape, m.filled))
              for m in page.elements if isinstance(m, Marks)}  # fmt: skip
    for shape in (("up", True), ("down", False), ("square", True), ("square", False)):
        assert shapes[shape] >= 8, shape
    alone = describe(outcome(recorded()), "a4", None, SheetOptions(before=None)).pages[0]
    assert not [m for m in alone.elements if isinstance(m, Marks) and m.shape == "square"]


def test_any_two_sessions_can_be_compared() -> None:
    docket = recorded()
    three = replace(docket, sessions=(*docket.sessions, replace(dockets.session(seed=3),
                                                                title="Third")))  # fmt: skip
    text = said(describe(outcome(three, 0), "a4", None, SheetOptions(2, before=2)).pages[-1])
    assert "Before: Third, 2024-03-06." in text


def test_before_and_after_are_counted_alike() -> None:
    """Of the session before only the readings are asked, of the one after everything that is known:
    by decisions a unit that had points in their bands was told to have had none."""
    docket = recorded()

    def points(*estimates: float | None, decided: bool) -> Comparison:
        verdict = Conformity.INSIDE if decided else Conformity.CANNOT_TELL
        return Comparison(tuple(
            PointResult("check", k, 500.0, None, 4.0, 6.0, None, None, None, at, 0.8, 0.7, verdict)
            for k, at in enumerate(estimates)
        ))  # fmt: skip

    pair = Compared(
        replace(outcome(docket, 0), comparison=points(3.9, 6.1, 4.5, 5.0, None, decided=False)),
        replace(outcome(docket, 1), comparison=points(4.1, 5.9, 4.5, 5.0, 5.5, decided=True)),
    )
    (phrase,) = _compared_phrases(pair)
    assert (phrase.facts["before"], phrase.facts["after"], phrase.facts["count"]) == (2, 5, 5)


def test_several_dockets_make_one_document() -> None:
    made = [describe(outcome(docket)) for docket in (recorded(), dockets.usual())]
    whole = pypdf.PdfReader(io.BytesIO(pdf_bytes(joined(made))))
    assert len(whole.pages) == sum(len(each.pages) for each in made)


def test_the_sign_keeps_its_proportions_and_its_room() -> None:
    for width, height in ((600, 60), (100, 100), (30, 400)):
        options = SheetOptions(workshop=replace(WORKSHOP, logo=picture(width, height)))
        page = describe(outcome(recorded()), "a4", None, options).pages[0]
        sign = next(e for e in page.elements if isinstance(e, Picture))
        assert sign.width_mm / sign.height_mm == pytest.approx(width / height)
        assert sign.width_mm <= 34.0 + 1e-9 and sign.height_mm <= 13.0 + 1e-9
        assert "Tern & Daughter" in said(page)


def test_alterations_survive_the_file_and_a_session_taken_out() -> None:
    docket = recorded()
    assert docket_from_text(docket_to_text(docket)).history == docket.history
    left = without_session(docket, 0)
    assert len(left.sessions) == 1
    assert left.history[0].before_session is None
    assert left.history[0].after_session == 1
    assert without_session(docket, 1).history[0].before_session == 1


def test_the_lamp_card_says_what_is_read_and_what_is_predicted() -> None:
    judged = outcome(recorded())
    text = said(lamp_sheet(judged, "a4", FontRuler(), said="Outside at 600 rev/min.").pages[0])
    assert "By the readings: outside at 600 rev/min." in text
    bare = outcome(recorded().with_changes(sessions=()))
    text = said(lamp_sheet(bare, "a4", FontRuler(), said="Not read yet.").pages[0])
    assert "Not read yet." in text and "By the readings" not in text
    assert worded(Word("card-outside")).startswith("predicted by the unit’s figures")


def test_a_name_within_a_sentence_begins_small() -> None:
    """“Fails: Side play …” had a capital behind its colon; what is a name of its own keeps it."""
    label = Word("label", {"text": "Side play of the shaft"})
    told = Word("phrase-plain-fail", {"name": label, "value": "Bad"})
    assert worded(told) == "Fails: side play of the shaft, bad."
    assert worded(Word("of-weight", {"number": 1, "name": "GPa of it"})) == "Weight 1: GPa of it"


@pytest.mark.parametrize("paper", PAPERS)
def test_lamp_card_gives_what_the_lamp_equation_gives(paper: str) -> None:
    """Static + ratio · advance at each speed: the reading equation without errors."""
    judged = outcome(recorded())
    made = lamp_sheet(judged, paper, FontRuler(), workshop=WORKSHOP)
    assert_good(made)
    rows: dict[float, list[str]] = {}
    for element in made.pages[0].elements:
        if isinstance(element, Text) and isinstance(element.text, str):
            rows.setdefault(round(element.y_mm, 3), []).append(element.text)
    checked = 0
    for point in judged.comparison.check_points:
        engine = 2 * point.speed_rpm
        row = next(r for r in rows.values() if r[0] == f"{engine:.0f}" and len(r) > 3)
        rising = 8.0 + 2 * float(judged.prediction.advance_deg(point.speed_rpm))
        assert float(row[1]) == pytest.approx(rising, abs=0.0501)
        assert shown_deg(Lamp(8.0, 2.0), engine, (rising - 8.0) / 2) == pytest.approx(rising)
        checked += 1
    assert checked == 6
    assert len({e.size_pt for e in made.pages[0].elements if isinstance(e, Text) and e.size_pt > 14
                and not isinstance(e.text, Word)}) == 1, "all figures of one size"  # fmt: skip
    assert "A lamp makes fan and belt look still" in said(made.pages[0])


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", ["usual", "empty", "target_only", "retard", "mechanism_only"])
def test_blank_session_sheet_has_the_check_speeds(name: str, paper: str) -> None:
    judged = dockets.judged(name)
    made = session_sheet(judged, paper, FontRuler())
    assert_good(made)
    text = " ".join(said(page) for page in made.pages).split()
    ratio = judged.docket.particulars.ratio_taken
    for point in judged.comparison.check_points:
        assert f"{point.speed_rpm * ratio:.0f}" in text
    speeds = session_speeds(judged)
    assert speeds == sorted(speeds)
    assert np.all(np.diff(speeds) > 0)
    assert text.count("Mean") >= 2
    to_write_on = [e for page in made.pages for e in page.elements
                   if isinstance(e, Line) and e.width_mm == 0.25]  # fmt: skip
    ends = {round(e.x2_mm, 3) for e in to_write_on}
    right = PAPERS[paper][0] - made.pages[0].margin_mm
    assert max(ends) == pytest.approx(right) and len(ends) == 2, "at the margin and in the middle"
    assert min(e.x2_mm - e.x1_mm for e in to_write_on) > 40.0


@pytest.mark.parametrize("paper", PAPERS)
def test_reassembly_list_has_every_step_of_the_unit(paper: str) -> None:
    judged = outcome(recorded())
    made = check_list_sheet(judged, paper, FontRuler(), hints={"cam_way_round": "Mind the slot."})
    assert_good(made)
    text = "\n".join(said(page) for page in made.pages)
    assert text.count("trap") >= 5
    for words in ("Cam the right way round on its shaft", "Mind the slot.", "Seal of the body new",
                  "Springs fly"):  # fmt: skip
        assert words in text
    boxless = outcome(replace(recorded(), capsules=()))
    fewer = check_list_sheet(boxless, paper, FontRuler())
    assert "Capsule’s rod" not in "\n".join(said(page) for page in fewer.pages)
    told = dict.fromkeys((step.key for step in check_list(judged.docket)), "Mind it.")
    for hints in ({}, told, dict(list(told.items())[::2])):
        for page in check_list_sheet(judged, paper, FontRuler(), hints=hints).pages:
            boxes = [e for e in page.elements if isinstance(e, Rect)]
            for above, below in itertools.pairwise(boxes):
                assert below.y_mm - above.y_mm - above.height_mm > 0.9, "told apart by a pencil"


@pytest.mark.parametrize("paper", PAPERS)
def test_who_signs_a_reassembly_list_stands_under_its_last_steps(paper: str) -> None:
    judged = outcome(recorded())
    keys = [step.key for step in check_list(judged.docket)]
    for told in range(0, len(keys), 2):  # so that the list ends anywhere on its page
        hints = dict.fromkeys(keys[:told], "Mind it.")
        made = check_list_sheet(judged, paper, FontRuler(), hints=hints)
        assert all(any(isinstance(e, Rect) for e in page.elements) for page in made.pages)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_reassembly_list_too_long_for_a_page_is_shared_out(paper: str) -> None:
    judged = outcome(recorded())
    hints = {step.key: "Mind it." for step in check_list(judged.docket)}
    hints["cam_way_round"] = "Mind the slot, and mind it well. " * 32
    made = check_list_sheet(judged, paper, FontRuler(), hints=hints)
    boxes = [sum(isinstance(e, Rect) for e in page.elements) for page in made.pages]
    assert len(boxes) == 2 and 4 * min(boxes) >= sum(boxes), boxes
    known = Reassembly(dog_offset_mm=1.2, dog_length_mm=13.0, dog_width_mm=3.2, slot_deg=35.0)
    hints["cam_way_round"] = "Mind the slot."
    with_plan = outcome(replace(recorded(), reassembly=known))
    made = check_list_sheet(with_plan, paper, FontRuler(), hints=hints)
    boxes = [[e for e in page.elements if isinstance(e, Rect)] for page in made.pages]
    lowest = [max(e.y_mm + e.height_mm for e in on_page) for on_page in boxes]
    assert len(lowest) == 2, "shared out"
    assert min(lowest) > 0.7 * made.pages[0].height_mm, "no page ends a third above its foot"


@pytest.mark.parametrize("paper", PAPERS)
def test_a_bar_of_true_length_stands_where_something_is_at_true_size(paper: str) -> None:
    known = Reassembly(dog_offset_mm=1.2, dog_length_mm=13.0, dog_width_mm=3.2, slot_deg=35.0)
    with_plan, without = (
        [said(page) for page in check_list_sheet(outcome(docket), paper, FontRuler()).pages]
        for docket in (replace(recorded(), reassembly=known), Docket())
    )
    assert with_plan[0].count("at true size") == with_plan[0].count("at true scale") == 1
    assert "true" not in "".join([*with_plan[1:], *without])
    assert with_plan[-1].index("Rotor and cap") < with_plan[-1].index("Seal of the body new")


def test_every_word_of_the_prints_has_its_text() -> None:
    judged = outcome(recorded())
    made = [describe(judged, "a4", None, SheetOptions(2)), lamp_sheet(judged, "a4", FontRuler()),
            session_sheet(judged, "a4", FontRuler()),
            check_list_sheet(judged, "a4", FontRuler())]  # fmt: skip
    for description in made:
        for page in description.pages:
            for element in page.elements:
                if isinstance(element, Text):
                    text = worded(element.text)
                    assert text.strip() and "{" not in text
