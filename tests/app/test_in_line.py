"""What stands in line on a page: fields, bars, figures, words beside their sign.

Sources: ISO 80000-1, 7.3, and common practice of tables (figures of a column stand under each
other, so on one side); common practice of forms (what is read across stands on one line).
"""

from __future__ import annotations

from operator import itemgetter

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtWidgets import QLabel, QStyleOptionComboBox, QVBoxLayout, QWidget

from bobweight.app.editors.entry import Lines, NumberEntry
from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.editors.table import RecordTable
from bobweight.app.pages.springs.learn_part import steps
from bobweight.app.pages.springs.tray_words import TrayWords
from bobweight.app.pages.verdict.explanation_part import ExplanationRow
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.theme import apply_theme
from bobweight.app.widgets.card import allow, button, stacked
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.table import Column, FigureTable, ReadTable
from bobweight.app.widgets.words import Selectable
from bobweight.core.bench.scale import Steps
from bobweight.core.bench.sums import TachometerCheck
from bobweight.core.design.tray import Tray, TraySpring
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.readings import Reading
from bobweight.core.record import parameters, put

LARGE_PX, SMALL_PX = 880, 420


@pytest.fixture
def shown(qtbot):
    """Show a widget so wide, and let it be laid out."""
    kept = []

    def show(*widgets: QWidget, width: int) -> QWidget:
        holder = QWidget()
        column = stacked(holder, *widgets)
        assert isinstance(column, QVBoxLayout)
        column.addStretch(1)
        qtbot.addWidget(holder)
        kept.append(holder)
        holder.resize(width, 700)
        with qtbot.waitExposed(holder):
            holder.show()
        holder.resize(width, 701)
        qtbot.wait(0)
        return holder

    return show


def place(widget: QWidget, holder: QWidget) -> QRect:
    return QRect(widget.mapTo(holder, widget.rect().topLeft()), widget.size())


def test_fields_side_by_side_stand_on_one_line(shown, demo, qapp):
    apply_theme(qapp, "light")
    store = RecordStore(demo)
    path = ("mechanism", "springs", 0)
    form = Form(Spring, path, plain_keys(Spring), store, Display())
    holder = shown(form, width=LARGE_PX)
    tops: dict[int, list[int]] = {}
    for made in form.fields.values():
        rect = place(made, holder)
        tops.setdefault(rect.x(), []).append(rect.y())
    left, right = (tops[x] for x in sorted(tops))
    assert len(left) - len(right) in (0, 1)
    assert left[: len(right)] == right
    heights = {made._editor().height() for made in form.fields.values()}
    assert len(heights) == 1  # lists of choices are as high as fields


def test_a_small_screen_has_one_column(shown, demo):
    form = Form(Particulars, ("particulars",), ("lobes", "drive_ratio"), RecordStore(demo),
                Display())  # fmt: skip
    holder = shown(form, width=SMALL_PX)
    assert len({place(made, holder).x() for made in form.fields.values()}) == 1


def test_a_long_text_stands_across_both_columns(shown, demo):
    keys = ("title", "lobes", "drive_ratio", "notes")
    form = Form(Particulars, ("particulars",), keys, RecordStore(demo), Display(), ("title",))
    shown(form, width=LARGE_PX)
    wide = form.fields["title"].width()
    assert wide == form.fields["notes"].width() > 2 * form.fields["lobes"].width()


def test_pairs_of_a_sum_stand_side_by_side(shown):
    entries = [NumberEntry(p, Display()) for p in parameters(TachometerCheck).values()]
    lines = Lines()
    for entry in entries:
        lines.add_entry(entry)
    holder = shown(lines, width=LARGE_PX)
    tops = [place(entry, holder).y() for entry in entries]
    assert tops[0::2] == tops[1::2] and len(set(tops)) == 3  # shown and trusted, thrice


def test_bars_have_one_length_whatever_stands_beside_them(shown):
    rows = [ExplanationRow() for _ in range(3)]
    for row, text in zip(rows, ("98 % very likely", "1 % unlikely", "<1 %"), strict=True):
        row.number.setText(text)
    shown(*rows, width=LARGE_PX)
    assert len({row.bar.width() for row in rows}) == 1
    assert len({row.number.x() for row in rows}) == 1


def test_a_table_is_as_wide_as_its_figures_and_they_stand_right(shown):
    table = FigureTable("lamp", ["Engine\nrev/min", "Off", "Target"], figures=True)
    shown(table, width=LARGE_PX)
    table.show_rows([("750", "8.0°", ""), ("1000", "27.5°", "10 to 14°")])
    widths = {table.columnWidth(column) for column in range(3)}
    assert len(widths) == 1
    assert widths.pop() > table.fontMetrics().horizontalAdvance("10 to 14°")
    assert table.sizeHint().width() < LARGE_PX / 2
    model, right = table.table_model, Qt.AlignmentFlag.AlignRight
    role, across = Qt.ItemDataRole.TextAlignmentRole, Qt.Orientation.Horizontal
    assert all(model.headerData(column, across, role) & right for column in range(3))
    assert all(model.data(model.index(0, column), role) & right for column in range(3))


def test_a_table_without_room_gives_its_words_way_first(shown):
    table = FigureTable("fitted", ["Figure", "Fitted", "Before"])
    shown(table, width=260)
    table.show_rows([("Secondary spring, initial tension", "10.7 ± 1.5 N", "11 ± 3 N")])
    metrics = table.fontMetrics()
    for column, text in ((1, "10.7 ± 1.5 N"), (2, "11 ± 3 N")):
        assert table.columnWidth(column) >= metrics.horizontalAdvance(text)
    assert sum(table.columnWidth(column) for column in range(3)) <= table.width()


def test_a_heading_is_short_before_any_word_is_cut(shown):
    """At every width that holds the words at all, whichever way it was come to."""
    heads = [("At\nrev/min", ""), ("Decision", ""), ("Predicted\n°", "Pred.\n°")]
    columns = [Column(head, itemgetter(place), place > 0, short=short)
               for place, (head, short) in enumerate(heads)]  # fmt: skip
    table = ReadTable("points", columns, None)
    holder = shown(table, width=300)
    table.show_rows([("750", "? can’t tell", "12.0"), ("1250", "✗ looks out", "9.5")])
    table.table_model.shorten_headings(True)
    words = table.text_widths()
    least = sum(words) + 2 * table.frameWidth() + 1
    for width in (*range(300, least, -1), *range(least, 300)):
        holder.resize(width, 700)
        assert all(table.columnWidth(place) >= px for place, px in enumerate(words)), width


def test_a_typed_table_of_one_figure_is_not_as_wide_as_the_page(shown, demo):
    table = RecordTable(RecordStore(demo), ("setting_up", "lamp_speeds"), ("engine_rpm",),
                        Display())  # fmt: skip
    shown(table, width=LARGE_PX)
    assert table.view.width() < LARGE_PX / 2


def test_the_words_of_a_heading_stand_within_its_edges(shown, demo, qapp):
    """By Qt's own measure of the words; the theme has 3 px beside them, and a line of 1 px."""
    apply_theme(qapp, "light")
    keys = ("mass_g", "pivot_radius_mm", "place_deg", "cg_mm", "rest_angle_deg")
    table = RecordTable(RecordStore(demo), ("mechanism", "weights", "each"), keys, Display())
    holder = shown(table, width=LARGE_PX)
    header, lines = table.view.horizontalHeader(), set()
    for wide in range(330, LARGE_PX, 2):
        holder.resize(wide, 700)
        for column in () if table._overflows else range(len(keys)):
            words = table.model.header_text(column).split("\n")
            lines.add(len(words))
            longest = max(map(header.fontMetrics().horizontalAdvance, words))
            assert longest + 7 <= header.sectionSize(column), wide
    assert len(lines) > 2, "short and whole ones were seen"


def test_what_wraps_hangs_beside_its_sign_and_is_copied_as_it_was_set(shown):
    label = Selectable()
    label.setWordWrap(True)
    text = "• Never leave <b>it</b> open & running\n△ second"
    label.setText(text)
    shown(label, width=SMALL_PX)
    assert label.text() == text
    html = QLabel.text(label)
    assert "&lt;b&gt;" in html and html.count("text-indent: -") == 2
    tall = label.heightForWidth(120)
    label.setText("plain")
    assert label.textFormat() == Qt.TextFormat.PlainText and label.heightForWidth(120) < tall


def test_a_long_choice_ends_in_a_sign_and_keeps_its_date(shown):
    box = QuietComboBox(elide=Qt.TextElideMode.ElideMiddle)
    box.setSizeAdjustPolicy(box.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
    box.addItem("A name as long as they come of a works number, 2026-03-14")
    shown(box, width=220)
    option = QStyleOptionComboBox()
    box.initStyleOption(option)
    assert "…" in option.currentText and option.currentText.endswith("03-14")


def test_what_cannot_be_pressed_says_why(qtbot):
    made = button("Take the rate", "The rate with its uncertainty.", lambda: None)
    qtbot.addWidget(made)
    allow(made, False, "First comes the wire.")
    assert not made.isEnabled() and made.toolTip() == "First comes the wire."
    assert made.accessibleDescription() == made.toolTip()
    allow(made, True, "First comes the wire.")
    assert made.isEnabled() and made.toolTip() == "The rate with its uncertainty."


def test_a_blank_step_shows_what_is_used(qtbot):
    store = RecordStore(Steps())
    form = Form(Steps, (), plain_keys(Steps), store, Display())
    qtbot.addWidget(form)
    field = form.fields["mid_deg"]
    field.show_used(Steps().longer_deg)
    assert field.edit.placeholderText() == "5" and field.edit.property("assumed") is True
    assert not field.uncommitted() and store.docket.mid_deg is None


def test_a_column_of_the_tray_has_one_number_of_decimals():
    class Kept:
        tray = Tray(springs=tuple(TraySpring(free_length_mm=v) for v in (17.25, 17.6, 19.0)))

    words = TrayWords(Kept(), Display())  # type: ignore[arg-type]
    column = next(c for c in words.columns() if "length" in c.heading.lower())
    assert [column.text(row) for row in range(3)] == ["17.25", "17.60", "19.00"]


def test_a_reading_that_lacks_its_speed_is_marked_and_not_counted(window, demo, qtbot):
    readings = demo.sessions[0].readings
    lacking = put(demo, ("sessions", 0, "readings", 3, "speed_rpm"), None)
    window.store.open_docket(lacking, None)
    page = window.show_page("readings") or window.page("readings")
    model = page.table.model
    column = model.keys.index("speed_rpm")
    assert "none" in model.data(model.index(3, column)), "where it would stand"
    assert "none" not in model.data(model.index(2, column))
    assert "speed shown: missing" in page.problem_box.accessibleDescription()
    model.setData(model.index(3, column), "1350")
    assert model.data(model.index(3, column)) == "1350"
    window.store.open_docket(lacking, None)
    window.feed.tell()
    plain = [r for r in readings if r.depression_kpa is None and not r.left_out]
    assert steps(demo, 0)[-1].text.startswith(f"Run: {len(plain)} readings")
    assert steps(lacking, 0)[-1].text.startswith(f"Run: {len(plain) - 1} readings")


def test_a_new_row_is_not_marked(window):
    window.store.open_docket(new_docket(), None)
    page = window.page("readings")
    assert page._lacking(Reading()) == ""
