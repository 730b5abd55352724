"""The sheet of one docket: the answer, the curve and what else fits on the first page, the rest
overleaf; the record of the work at length only if it is asked for.

Parts that would be empty are left out, and so is a page with nothing on it; the curve takes the
room that is left, and its plot is never below ``LEAST_PLOT_MM``. A picture holds one page: there
the plan is left out, long particulars are shortened, then the longest tables are cut (their last
line says how many rows are in the docket), then the remarks.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from bobweight.core.figure.description import Content, word
from bobweight.core.figure.events import without_told
from bobweight.core.figure.speed import beyond, has_curve, speed_figure
from bobweight.core.figure.vacuum import has_capsule, vacuum_figure
from bobweight.core.figure.view import View, view_of
from bobweight.core.sheet.blocks import (
    VERDICT_MARKS,
    capsule_facts,
    check_point_rows,
    how_read,
    key_figures,
    particulars,
    vacuum_rows,
)
from bobweight.core.sheet.caution_list import CautionList, with_cautions_named
from bobweight.core.sheet.description import (
    PAPERS,
    Description,
    Element,
    Line,
    Marks,
    PaperPage,
    Paragraph,
    Rect,
    RoughRuler,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.found_left import with_read_curves
from bobweight.core.sheet.layout import (
    CLOSER_ROWS_MM,
    HEADING_MM,
    LABEL_GAP_MM,
    ROW_MM,
    RULE_MM,
    SMALL_PT,
    Rows,
    cautions_overleaf,
    fact_list,
    flow,
    heading,
    heading_mm,
    place_to_write,
    shared_widths,
    table,
    table_mm,
    wrapped,
)
from bobweight.core.sheet.limits import Limits
from bobweight.core.sheet.mechanism_part import MechanismPart
from bobweight.core.sheet.options import SheetOptions
from bobweight.core.sheet.plot import (
    ABOVE_MM,
    BELOW_MM,
    SECOND_ABOVE_MM,
    marks_key,
    painted,
    second_scale,
)
from bobweight.core.sheet.record import Compared, in_short, in_short_of, with_rest_named
from bobweight.core.sheet.second_page import AT_LENGTH, SecondPage

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

MARGIN_MM = 12.0
GAP_MM = 2.4
TITLE_PT, LONG_TITLE_PT, SAID_PT = 15.0, 12.0, 10.0
MOST_TITLE_LINES, MOST_SAID_LINES = 3, 4
UNDER_TITLE_MM, SAID_LINE_MM = 5.6, 4.5
FOOT_MM = 6.0
LEAST_PLOT_MM = 80.0
PARTS = ("check", "notes", "vacuum", "springs", "record")
"""The parts below the curve, in the order in which they claim the first page."""
LEAST_CURVE_MM = 57.0
LEAST_CURVE_WITH_RECORD_MM = 52.0
RECORD_RULE_MM = 1.4
LEAST_CAPSULE_MM = 38.0
CAPSULE_MM = 66.0
GUTTER_MM = 6.0
MOST_NOTE_LINES = 4
LEADING_MM = 3.2
NUMBER_MM = 24.0
BESIDE_READ_MM = 42.0
"""What stands beside the line on how it was read: how many readings lie beyond the plot."""


def docket_sheet(outcome: Outcome, paper: str = "a4", view: View | None = None,
                 ruler: Ruler | None = None,
                 options: SheetOptions | None = None) -> Description:  # fmt: skip
    """The sheet of a docket: one page, or two if asked.

    Parameters
    ----------
    outcome : Outcome
        From :func:`core.judgement.outcome.outcome`.
    paper : {'a4', 'letter'}
    view : View, optional
        Frame and units of the figures; by default distributor figures and kPa.
    ruler : Ruler, optional
        Measures text; without one widths are estimated.
    """
    record, options = outcome.docket.particulars, options or SheetOptions()
    if options.judgement is not None:
        from bobweight.core.judgement.judged import judged_outcome

        outcome = judged_outcome(outcome, options.judgement)
    ruler, pair = ruler or RoughRuler(), options.compared(outcome)
    view = view or view_of(outcome.docket, session=outcome.session)
    width, height = PAPERS[paper]
    sheet = _Sheet(outcome, view, ruler, width, height, options, pair)
    made = [sheet.elements(), sheet.overleaf()]
    if options.pages > 1 and not (made[1] and sheet.at_length.told == AT_LENGTH[0]):
        sheet.at_length.told = AT_LENGTH[0]
        made.append(sheet.at_length.elements())
    told = sheet.at_length.told if len([page for page in made if page]) > 1 else ()
    made[0] = sheet.at_length.with_not_printed(made[0], told)
    made[0] = with_rest_named(made[0], told, sheet.left + sheet.width)
    made = with_cautions_named([elements for elements in made if elements])
    title = plain(record.title) or plain(record.unit_number) or word("untitled")
    pages = []
    for number, elements in enumerate(made, start=1):
        elements.append(
            Text(width - MARGIN_MM, height - MARGIN_MM - 0.6,
                 word("page-of", number=number, count=len(made)), SMALL_PT, align="right",
                 room_mm=NUMBER_MM)
        )  # fmt: skip
        pages.append(PaperPage(width, height, MARGIN_MM, tuple(elements)))
    return Description(title, paper, tuple(pages))


class _Sheet:
    """One sheet in the making: what it holds, how much room each part takes, and the elements."""

    def __init__(
        self, outcome: Outcome, view: View, ruler: Ruler, width: float, height: float,
        options: SheetOptions, pair: Compared | None,
    ) -> None:  # fmt: skip
        self.outcome, self.view, self.ruler = outcome, view, ruler
        self.one_page = options.one_page
        self.options, self.pair = options, pair
        self.before = None if pair is None else pair.before.reduced
        self.left, self.top = MARGIN_MM, MARGIN_MM
        self.width, self.bottom = width - 2 * MARGIN_MM, height - MARGIN_MM
        # what is told at length overleaf is not told in short as well
        self.record = in_short(outcome, pair, view) if options.pages == 1 else []
        self.record_label_mm = max(
            (ruler.width_mm(title, SMALL_PT, bold=True) for title, _ in self.record), default=0.0
        ) + LABEL_GAP_MM  # fmt: skip
        known = particulars(outcome.docket)
        self.particulars = fact_list(known, self.width, 3, ruler, longest_mm=90.0, lines=4)
        self.particulars_short = fact_list(known, self.width, 3, ruler)
        self.check = check_point_rows(outcome, view)
        self.vacuum = vacuum_rows(outcome, view)
        plan, doubt = not self.one_page, options.doubt
        self.mechanism = MechanismPart(outcome, view, self.width, ruler, plan, *doubt)
        self.parts = frozenset(PARTS)  # what stands on the page in the making
        self.has_capsule = has_capsule(outcome)
        self.curve = has_curve(outcome) or not self.has_capsule
        cautions = CautionList(options.cautions, self.width, ruler)
        self.at_length = SecondPage(outcome, pair, view, ruler, width, height, cautions)
        alone = not (self.check or self.vacuum or self.mechanism.wide.rows)
        self.capsule_mm = self.width if alone else CAPSULE_MM
        known = capsule_facts(outcome, view)
        self.capsule_facts = fact_list(known, self.capsule_mm, 4 if alone else 2, ruler)
        self.phrases = [*options.over_curve, *key_figures(outcome, view)]
        self.read = how_read(outcome, view)
        self.read_lines = 0
        if self.read:
            self.read_lines = min(ruler.lines(self.read, SMALL_PT, self.width - BESIDE_READ_MM), 2)
        remarks = outcome.docket.particulars.remarks
        self.notes = "\n".join(plain(line) for line in remarks.splitlines()).strip()
        self.notes_label_mm = ruler.width_mm(word("remarks"), SMALL_PT, bold=True) + LABEL_GAP_MM
        room = self.width - self.notes_label_mm
        note_lines = ruler.lines(self.notes, 8.0, room) if self.notes else 0
        self.limits = Limits(
            len(self.check.rows) if self.check else 0,
            len(self.vacuum.rows) if self.vacuum else 0,
            len(self.mechanism.springs.rows) if self.mechanism.springs else 0,
            min(note_lines, MOST_NOTE_LINES),
        )
        self.caution_lines = ruler.lines(word("cautions"), SMALL_PT, self.width)
        self.row_mm = ROW_MM
        self.stretch_mm = 0.0  # what the capsule's plot takes where there is no curve
        self.phrase_lines = len(flow(0, 0, self.width, self.phrases, ruler, lines=2)[1])
        self.title = self._title()
        self.said = self._said()

    @property
    def capsule(self) -> bool:
        """Whether the capsule stands on the page in the making."""
        return self.has_capsule and "vacuum" in self.parts

    @property
    def left_mm(self) -> float:
        """The width of the tables."""
        return self.width - (CAPSULE_MM + GUTTER_MM if self.capsule else 0.0)

    def elements(self) -> list[Element]:
        """All parts of the first page from top to bottom."""
        self._make_room()
        y = self.top
        made = self.options.workshop.elements(self.left, y, self.width)
        y += self.options.workshop.height_mm
        made += self._head(y)
        y += self._head_mm()
        made += self.particulars.elements(self.left, y)
        y += self._particulars_mm()
        left_mm = self._left_mm()
        if self.curve:
            made += self._curve(y, left_mm)
            y += left_mm + GAP_MM
        else:
            self.stretch_mm = left_mm + GAP_MM
        made += self._below(y)
        foot = self.bottom - FOOT_MM
        made += self._cautions(foot - self._cautions_mm())
        return made + self._foot(foot)

    def overleaf(self) -> list[Element]:
        """What found no room on the first page, filled up with the record of the work at length
        where that fits, and with the cautions; empty if there is nothing."""
        self.parts = frozenset(PARTS) - self.parts
        self.stretch_mm = 0.0
        if self.one_page or not self._parts_mm():
            return []
        top = self.top + self._title_mm() + UNDER_TITLE_MM
        room = self.bottom - top - FOOT_MM
        self._tell_at_length(room)
        room -= self.at_length.parts_mm()
        self._cut(lambda: room - self._parts_mm(), 0.0)
        cautions = self.at_length.cautions
        cautions_mm = cautions.height_mm if self._parts_mm() + cautions.height_mm <= room else 0.0
        spare = room - cautions_mm - self._parts_mm()
        if "springs" in self.parts:
            self.mechanism.grow(spare)
        made = self._titled(self.top) + self._below(top)
        made += self.at_length.parts_from(top + self._parts_mm())
        if cautions_mm:
            return made + cautions.elements(self.left, self.bottom - FOOT_MM - cautions_mm)
        return [*made, cautions_overleaf(self.left, self.bottom, self.width - NUMBER_MM - 4.0)]

    def _tell_at_length(self, room_mm: float) -> None:
        """Tell overleaf as much of the record at length as leaves the cautions room to stand
        whole, the rest in short; where they cannot, as much as fits without them. A record that is
        asked for at length is told whole, here or on a page of its own."""
        short, record, cautions_mm = self.parts, self.record, self.at_length.cautions.height_mm
        choices = AT_LENGTH if self.options.pages == 1 else AT_LENGTH[:1]
        # set closer before anything is left out
        ways = itertools.product((cautions_mm, 0.0), choices, CLOSER_ROWS_MM)
        for keep_mm, told, row_mm in (*ways, (0.0, frozenset[str](), ROW_MM)):
            self.at_length.told = told
            self._set_rows(row_mm)
            self.record = [line for line in record if in_short_of(line) not in told]
            self.parts = short if self.record else short - {"record"}
            for beside in dict.fromkeys((False, self.mechanism.fits_beside)):
                self.mechanism.put_plan(beside)
                if self._parts_mm() + self.at_length.parts_mm() + keep_mm <= room_mm:
                    return

    def _set_rows(self, row_mm: float) -> None:
        """Set the page in the making with rows of this height."""
        self.row_mm = row_mm
        self.at_length.set_rows(row_mm)
        self.capsule_facts = replace(self.capsule_facts, row_mm=row_mm)

    @property
    def _facts_below(self) -> bool:
        """Whether the capsule's facts stand below its plot, and not under the tables beside it."""
        if self.row_mm == ROW_MM or not (self.capsule and self._tables()):
            return True
        left_mm = self._tables_mm() + GAP_MM + self.capsule_facts.height_mm
        return left_mm > HEADING_MM + LEAST_CAPSULE_MM

    def _below(self, y: float) -> list[Element]:
        """The parts below the curve that stand on the page in the making."""
        made: list[Element] = []
        for part_mm, part in (
            (self._middle_mm(), self._middle),
            (self._springs_mm(), self._springs),
            (self._record_mm(), self._record),
            (self._notes_mm(), self._notes),
        ):
            if part_mm:
                made += part(y)
                y += part_mm + GAP_MM
        return made

    def _make_room(self) -> None:
        """Leave the plot its least height: what does not fit goes overleaf, if not all fits with
        its rows set closer; for a single page it is shortened. Nothing is cut in vain."""
        least = LEAST_PLOT_MM + self._around_plot_mm() if self.curve else 0.0
        if not self.one_page:
            for self.row_mm in CLOSER_ROWS_MM:
                if self._left_mm() >= least:
                    return
            self.row_mm, self.parts = ROW_MM, frozenset()
            for part in PARTS:
                before, self.parts = self.parts, self.parts | {part}
                if self._left_mm() < least:
                    self.parts = before
            return
        if self._left_mm() < LEAST_CURVE_MM:
            self.particulars = self.particulars_short
        more = bool(self.record) or bool(self.options.workshop.height_mm)
        self._cut(self._left_mm, LEAST_CURVE_WITH_RECORD_MM if more else LEAST_CURVE_MM)

    def _cut(self, left_mm: Callable[[], float], least_mm: float) -> None:
        """Cut tables and texts line by line until so much height is left."""
        while (left := left_mm()) < least_mm:
            limits = self.limits
            for self.limits in limits.cuts():
                if left_mm() > left:
                    break
            else:
                self.limits = limits
                return

    # Heights, in mm

    def _left_mm(self) -> float:
        """What the other parts leave for the curve."""
        taken = self.options.workshop.height_mm + self._head_mm() + self._particulars_mm()
        taken += self._parts_mm() + 2 * GAP_MM + self._cautions_mm() + FOOT_MM
        return self.bottom - self.top - taken

    def _parts_mm(self) -> float:
        """What the parts below the curve take, each with the gap below it."""
        parts = (self._middle_mm(), self._springs_mm(), self._record_mm(), self._notes_mm())
        return sum(mm + GAP_MM for mm in parts if mm)

    def _around_plot_mm(self) -> float:
        """What the curve's part needs besides the frame of its plot."""
        second = second_scale(self.view)
        lines = self.phrase_lines or (0 if has_curve(self.outcome) else 1)
        around = HEADING_MM + ROW_MM * (lines + self.read_lines) + BELOW_MM
        return around + (SECOND_ABOVE_MM if second else ABOVE_MM)

    def _title_mm(self) -> float:
        return sum(0.41 * element.size_pt for element in self.title)

    def _head_mm(self) -> float:
        said_mm = 3.0 + SAID_LINE_MM * len(self.said) if self.said else 0.0
        return self._title_mm() + UNDER_TITLE_MM + said_mm + 1.4

    def _particulars_mm(self) -> float:
        return self.particulars.height_mm + GAP_MM

    def _tables(self) -> list[tuple[Rows, int, Content, Content]]:
        """The tables of the left column: rows, limit, heading, aside."""
        target = self.outcome.docket.target
        found: list[tuple[Rows, int, Content, Content]] = []
        if self.check and "check" in self.parts:
            source = plain(target.source)
            aside: Content = word(f"target-{target.read_as}", source=source) if source else ""
            found.append((self.check, self.limits.check, word("check-points"), aside))
        if self.vacuum and "vacuum" in self.parts:
            found.append((self.vacuum, self.limits.vacuum, word("vacuum-check-points"), ""))
        return found

    def _tables_mm(self) -> float:
        found = self._tables()
        heights = (HEADING_MM + table_mm(t.columns, n, self.row_mm) for t, n, _, _ in found)
        return sum(heights) + GAP_MM * max(len(found) - 1, 0)

    def _capsule_mm(self) -> float:
        if not self.capsule:
            return 0.0
        return HEADING_MM + LEAST_CAPSULE_MM + self.capsule_facts.height_mm * self._facts_below

    def _middle_mm(self) -> float:
        """Tables and capsule side by side; the settings too where they fill a gap there."""
        if not (self._tables() or self.capsule):
            return 0.0
        least = max(self._tables_mm() + self._settings_beside_mm(), self._capsule_mm())
        return least + self.stretch_mm

    def _settings_beside_mm(self) -> float:
        """The settings under the tables beside the capsule, if they fit there; else 0."""
        if self.mechanism.plan or not (self.capsule and self._settings_rows()):
            return 0.0
        needed = HEADING_MM + self.mechanism.narrow.height_mm
        needed += GAP_MM if self._tables() else 0.0
        return needed if self._tables_mm() + needed <= self._capsule_mm() + 6.0 else 0.0

    def _springs_mm(self) -> float:
        if "springs" not in self.parts:
            return 0.0
        return self.mechanism.height_mm(self.limits.springs, self._settings_here())

    def _settings_here(self) -> bool:
        """Whether the settings stand with the springs."""
        return bool(self._settings_rows()) and not self._settings_beside_mm()

    def _settings_rows(self) -> int:
        shown = self.limits.settings and "springs" in self.parts
        return self.mechanism.wide.rows if shown else 0

    def _record_flow(self, y: float = 0.0) -> tuple[list[Element], int]:
        """The record in short below ``y``, and how many lines it takes."""
        made: list[Element] = []
        taken = 0
        for title, phrases in self.record:
            top = y + ROW_MM * taken
            made.append(Text(self.left, top + ROW_MM - 1.0, title, SMALL_PT, bold=True,
                             room_mm=self.record_label_mm - 1.0))  # fmt: skip
            x, room = self.left + self.record_label_mm, self.width - self.record_label_mm
            set_, counts = flow(x, top, room, phrases, self.ruler, self.limits.record)
            made += set_
            taken += len(counts)
        return made, taken

    def _record_mm(self) -> float:
        if not self.record or "record" not in self.parts:
            return 0.0
        return RECORD_RULE_MM + ROW_MM * self._record_flow()[1]

    def _record(self, y: float) -> list[Element]:
        """The record in short."""
        rule = Line(self.left, y, self.left + self.width, y, RULE_MM)
        return [rule, *self._record_flow(y + RECORD_RULE_MM)[0]]

    def _notes_mm(self) -> float:
        if not self.limits.notes or "notes" not in self.parts:
            return 0.0
        return RECORD_RULE_MM + LEADING_MM * self.limits.notes + 0.6

    def _cautions_mm(self) -> float:
        return RECORD_RULE_MM + LEADING_MM * self.caution_lines + GAP_MM

    # Parts

    def _title(self) -> list[Text]:
        """The title on as many lines as it needs, from the top of the page."""
        record = self.outcome.docket.particulars
        title: Content = plain(record.title) or plain(record.unit_number) or word("untitled")
        size_pt, lines = TITLE_PT, [title]
        if isinstance(title, str) and self.ruler.width_mm(title, size_pt, True) > self.width:
            size_pt = LONG_TITLE_PT
            lines = list(wrapped(title, self.width, size_pt, MOST_TITLE_LINES, self.ruler))
        return [Text(self.left, 0.41 * size_pt * (n + 1), line, size_pt, bold=True,
                     room_mm=self.width) for n, line in enumerate(lines)]  # fmt: skip

    def _titled(self, y: float) -> list[Element]:
        """Title, and what the figures of the paper are."""
        under = y + self._title_mm() + 3.6
        made: list[Element] = [replace(line, y_mm=y + line.y_mm - 0.5) for line in self.title]
        return [*made, Text(self.left, under, self.view.said, 8.0, room_mm=self.width)]

    def _said(self) -> list[Content]:
        """The judgement in its one sentence, else the decision, on the lines of its frame."""
        if self.options.said:
            return list(wrapped(self.options.said, self.width - 13.0, SAID_PT, MOST_SAID_LINES,
                                self.ruler))  # fmt: skip
        verdict, code = self._verdict()
        return [word(f"{code}-{verdict.replace(' ', '-')}")] if verdict else []

    def _head(self, y: float) -> list[Element]:
        """Title, what the paper is, and the judgement with its sign in a frame."""
        made = self._titled(y)
        y += self._title_mm() + UNDER_TITLE_MM
        if not self.said:
            return [*made, Line(self.left, y + 0.4, self.left + self.width, y + 0.4, 0.5)]
        tall = 2.0 + SAID_LINE_MM * len(self.said)
        waits = self.options.said and self.options.judgement is None
        mark = "query" if waits else VERDICT_MARKS.get(self._verdict()[0], "query")
        made += [Rect(self.left, y + 0.3, self.width, tall, 0.5),
                 Marks(((self.left + 5.0, y + 0.3 + tall / 2),), mark, 3.6,
                       line_mm=0.6)]  # fmt: skip
        for number, line in enumerate(self.said):
            made.append(Text(self.left + 10.0, y + 4.6 + SAID_LINE_MM * number, line, SAID_PT,
                             bold=True, room_mm=self.width - 12.0))  # fmt: skip
        return made

    def _verdict(self) -> tuple[str, str]:
        """The overall decision and the code that says of what it is; empty if there is none."""
        comparison = self.outcome.comparison
        points = comparison.all_points
        if comparison.decision:
            return comparison.decision, "overall-judged"
        if any(p.estimate_deg is not None for p in points):
            return comparison.overall.value, "overall-measured"
        if points and all(p.predicted_inside is not None for p in points):
            inside = all(p.predicted_inside for p in points)
            return ("inside" if inside else "outside"), "overall-predicted"
        return "", ""

    def _curve(self, y: float, height: float) -> list[Element]:
        made, right = heading(self.left, y, self.width, word("curve")), self.left + self.width
        free = self.left + heading_mm(word("curve"), self.ruler, self.width) + 4.0
        shown = speed_figure(self.outcome, self.view, other=self.before)
        shown = with_read_curves(shown, self.outcome, self.pair, self.options, self.view)
        keyed = (shown, vacuum_figure(self.outcome, self.view)) if self.has_capsule else (shown,)
        made += marks_key(keyed, self.ruler, free, right, y + 3.8)
        y, height = y + HEADING_MM, height - HEADING_MM
        if self.phrases:
            made += flow(self.left, y, self.width, self.phrases, self.ruler, lines=2)[0]
            y, height = y + ROW_MM * self.phrase_lines, height - ROW_MM * self.phrase_lines
        elif not has_curve(self.outcome):
            made.append(Text(self.left, y + ROW_MM - 1.2, word("no-curve"), SMALL_PT,
                             room_mm=self.width))  # fmt: skip
            y, height = y + ROW_MM, height - ROW_MM
        if self.read:
            height -= ROW_MM * self.read_lines
            made.append(Paragraph(self.left, y + height + 3.0, self.read,
                                  self.width - BESIDE_READ_MM, self.read_lines, SMALL_PT,
                                  LEADING_MM))  # fmt: skip
            count = beyond(shown)
            if count:
                made.append(Text(self.left + self.width, y + height + 3.0,
                                 word("beyond-the-plot", count=count), SMALL_PT, align="right",
                                 room_mm=40.0))  # fmt: skip
        shown = without_told(shown, (e.text for e in made if isinstance(e, Text)))
        return made + painted(shown, self.ruler, self.left, y, self.width, height,
                              second_scale(self.view))  # fmt: skip

    def _middle(self, y: float) -> list[Element]:
        made: list[Element] = []
        tables = self._tables()
        beside = self._settings_beside_mm()
        height = self._middle_mm()
        left_mm = self.left_mm
        widths = shared_widths([rows for rows, _, _, _ in tables], left_mm, self.ruler)
        at = y
        for rows, limit, title, aside in tables:
            made += heading(self.left, at, left_mm, title, aside, self.ruler)
            made += table(self.left, at + HEADING_MM, widths[len(rows.columns)], rows.columns,
                          rows.rows, limit, self.row_mm)  # fmt: skip
            at += HEADING_MM + table_mm(rows.columns, limit, self.row_mm) + GAP_MM
        if self.capsule and not self._facts_below:
            made += self.capsule_facts.elements(self.left, at)
        if beside:
            made += heading(self.left, at, left_mm, word("settings"))
            made += self.mechanism.narrow.elements(self.left, at + HEADING_MM)
        if self.capsule:
            x = self.left + self.width - self.capsule_mm
            made += self._capsule(x, y, self.capsule_mm, height)
        return made

    def _capsule(self, x: float, y: float, width: float, height: float) -> list[Element]:
        made = heading(x, y, width, word("capsule"))
        plot_mm = height - HEADING_MM - self.capsule_facts.height_mm * self._facts_below
        shown = vacuum_figure(self.outcome, self.view)
        made += painted(shown, self.ruler, x, y + HEADING_MM, width, plot_mm)
        if self._facts_below:
            made += self.capsule_facts.elements(x, y + HEADING_MM + plot_mm)
        return made

    def _springs(self, y: float) -> list[Element]:
        return self.mechanism.elements(self.left, y, self.limits.springs, self._settings_here())

    def _notes(self, y: float) -> list[Element]:
        """The remarks for the customer, and the rule above them."""
        room, baseline = self.width - self.notes_label_mm, y + RECORD_RULE_MM + 2.7
        return [
            Line(self.left, y, self.left + self.width, y, RULE_MM),
            Text(self.left, baseline, word("remarks"), SMALL_PT, bold=True,
                 room_mm=self.notes_label_mm - 1.0),
            Paragraph(self.left + self.notes_label_mm, baseline, self.notes, room,
                      self.limits.notes, 8.0, LEADING_MM),
        ]  # fmt: skip

    def _cautions(self, y: float) -> list[Element]:
        return [
            Line(self.left, y, self.left + self.width, y, RULE_MM),
            Paragraph(self.left, y + RECORD_RULE_MM + 2.2, word("cautions"), self.width,
                      self.caution_lines, SMALL_PT, LEADING_MM),
        ]  # fmt: skip

    def _foot(self, y: float) -> list[Element]:
        """Place for name and date on one line, clear of the number of the page."""
        half = (self.width - NUMBER_MM - 8.0) / 2
        return [
            *place_to_write(self.left, y + 5.2, half, word("name"), self.ruler),
            *place_to_write(self.left + half + 4.0, y + 5.2, half, word("date"), self.ruler),
        ]
