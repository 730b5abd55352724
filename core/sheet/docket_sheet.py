"""The sheet of one docket: one page that holds the whole case, whatever the docket holds; a second
one with the record of the work at length only if it is asked for.

Parts that would be empty are left out; the curve takes the room that is left. Where the room does
not suffice, long particulars are shortened, then the longest tables are cut (their last line says
how many rows are in the docket), then the notes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from bobweight.core.figure.description import Content, word
from bobweight.core.figure.speed import beyond, has_curve, speed_figure
from bobweight.core.figure.vacuum import has_capsule, vacuum_figure
from bobweight.core.figure.view import View, view_of
from bobweight.core.sheet.blocks import (
    VERDICT_MARKS,
    Rows,
    capsule_facts,
    check_point_rows,
    how_read,
    key_figures,
    particulars,
    settings,
    spring_rows,
    vacuum_rows,
)
from bobweight.core.sheet.description import (
    PAPERS,
    Description,
    Element,
    Line,
    Marks,
    Page,
    Paragraph,
    Rect,
    RoughRuler,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import (
    HEADING_MM,
    LABEL_GAP_MM,
    ROW_MM,
    RULE_MM,
    SMALL_PT,
    column_widths,
    fact_list,
    flow,
    heading,
    heading_mm,
    place_to_write,
    scale_bar,
    table,
    table_mm,
)
from bobweight.core.sheet.plot import marks_key, painted, second_scale
from bobweight.core.sheet.record import Compared, compared, earlier_session, in_short
from bobweight.core.sheet.second_page import second_page
from bobweight.core.sheet.workshop import Workshop

if TYPE_CHECKING:
    from bobweight.core.judgement.answer import Judgement
    from bobweight.core.judgement.outcome import Outcome

_MARKS = {**VERDICT_MARKS, "looks inside": "tick", "looks outside": "cross"}
EARLIEST = -1
MARGIN_MM = 12.0
GAP_MM = 2.4
HEAD_MM = 12.6
TITLE_BLOCK_MM = 14.0
LEAST_CURVE_MM = 57.0
LEAST_CURVE_WITH_RECORD_MM = 52.0
RECORD_RULE_MM = 1.4
LEAST_CAPSULE_MM = 38.0
CAPSULE_MM = 66.0
GUTTER_MM = 6.0
LEAST_ROWS = 4
MOST_NOTE_LINES = 4
LEADING_MM = 3.2


@dataclass(frozen=True)
class SheetOptions:
    """What is asked of a sheet besides its figures.

    Parameters
    ----------
    pages : int
        1, or 2 for the record at length as well.
    before : int or None
        Session (by index) to compare the one judged with; ``EARLIEST`` is the first with readings
        before it, None is no comparison.
    workshop : Workshop
        Heads the first page.
    judgement : Judgement, optional
        Of the docket and session: then its check points and its decision are those on the paper.
    said : str
        The one sentence of that judgement, printed above the curve.
    """

    pages: int = 1
    before: int | None = EARLIEST
    workshop: Workshop = field(default_factory=Workshop)
    judgement: Judgement | None = None
    said: str = ""

    def compared(self, outcome: Outcome) -> Compared | None:
        """The two sessions that are compared; None if there are no two."""
        before = self.before
        if before == EARLIEST:
            before = earlier_session(outcome.docket, outcome.session)
        return compared(outcome, before)


@dataclass(frozen=True)
class _Limits:
    """How many rows of each table and lines of notes are shown; how many lines of each part of
    the record; whether the settings are."""

    check: int
    vacuum: int
    springs: int
    notes: int
    record: int = 2
    settings: int = 1

    def cuts(self) -> list[_Limits]:
        """The same with one row or line less: the record's second lines first, then the settings,
        the longest table, and the notes last."""
        names = sorted(("check", "vacuum", "springs"), key=lambda n: -getattr(self, n))
        cut = ["record"] if self.record > 1 else []
        cut += ["settings"] if self.settings else []
        cut += [n for n in names if getattr(self, n) > LEAST_ROWS]
        cut += ["notes"] if self.notes > 1 else []
        return [replace(self, **{name: getattr(self, name) - 1}) for name in cut]


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
    options : SheetOptions, optional
    """
    record, options = outcome.docket.particulars, options or SheetOptions()
    if options.judgement is not None:
        from bobweight.core.judgement.judged import judged_outcome

        outcome = judged_outcome(outcome, options.judgement)
    ruler, pair = ruler or RoughRuler(), options.compared(outcome)
    view = view or view_of(outcome.docket, session=outcome.session)
    width, height = PAPERS[paper]
    made = [_Sheet(outcome, view, ruler, width, height, options, pair).elements()]
    if options.pages > 1:
        made.append(second_page(outcome, pair, view, ruler, width, height))
    title = plain(record.title) or plain(record.unit_number)
    pages = tuple(Page(width, height, MARGIN_MM, tuple(elements)) for elements in made)
    return Description(title, paper, pages)


class _Sheet:
    """One sheet in the making: what it holds, how much room each part takes, and the elements."""

    def __init__(
        self, outcome: Outcome, view: View, ruler: Ruler, width: float, height: float,
        options: SheetOptions, pair: Compared | None,
    ) -> None:  # fmt: skip
        self.outcome, self.view, self.ruler = outcome, view, ruler
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
        self.particulars = fact_list(known, self.width, 3, ruler, longest_mm=90.0)
        self.particulars_short = fact_list(known, self.width, 3, ruler)
        self.check = check_point_rows(outcome, view)
        self.vacuum = vacuum_rows(outcome, view)
        self.springs = spring_rows(outcome, view)
        self.capsule = has_capsule(outcome)
        self.curve = has_curve(outcome) or not self.capsule
        self.left_mm = self.width - (CAPSULE_MM + GUTTER_MM if self.capsule else 0.0)
        self.settings = fact_list(settings(outcome.docket), self.width, 4, ruler)
        self.settings_narrow = fact_list(settings(outcome.docket), self.left_mm, 2, ruler)
        alone = not (self.check or self.vacuum or self.settings.rows)
        self.capsule_mm = self.width if alone else CAPSULE_MM
        known = capsule_facts(outcome, view)
        self.capsule_facts = fact_list(known, self.capsule_mm, 4 if alone else 2, ruler)
        said = [part for part in re.split(r"(?<=\.) ", options.said) if part]
        self.most_lines = 4 if said else 2
        self.phrases = [*said, *key_figures(outcome, view)]
        self.read = how_read(outcome, view)
        notes = outcome.docket.particulars.notes
        self.notes = "\n".join(plain(line) for line in notes.splitlines()).strip()
        inset = self.record_label_mm if self.record else 0.0
        note_lines = ruler.lines(self.notes, 8.0, self.width - inset) if self.notes else 0
        self.limits = _Limits(
            *(len(t.rows) if t else 0 for t in (self.check, self.vacuum, self.springs)),
            min(note_lines, MOST_NOTE_LINES),
        )
        self.caution_lines = ruler.lines(word("cautions"), SMALL_PT, self.width)
        self.stretch_mm = 0.0  # what the capsule's plot takes where there is no curve
        self.phrase_lines = len(
            flow(0, 0, self.width, self.phrases, ruler, lines=self.most_lines)[1]
        )

    def elements(self) -> list[Element]:
        """All parts from top to bottom."""
        self._make_room()
        y = self.top
        made = self.options.workshop.elements(self.left, y, self.width)
        y += self.options.workshop.height_mm
        made += self._head(y)
        y += HEAD_MM
        made += self.particulars.elements(self.left, y)
        y += self._particulars_mm()
        left_mm = self._left_mm()
        if self.curve:
            made += self._curve(y, left_mm)
            y += left_mm + GAP_MM
        else:
            self.stretch_mm = left_mm + GAP_MM
        for part_mm, part in (
            (self._middle_mm(), self._middle),
            (self._springs_mm(), self._springs),
            (self._record_mm(), self._record),
            (self._notes_mm(), self._notes),
        ):
            if part_mm:
                made += part(y)
                y += part_mm + GAP_MM
        foot = self.bottom - TITLE_BLOCK_MM
        made += self._cautions(foot - GAP_MM - self._cautions_mm())
        return made + self._title_block(foot)

    def _make_room(self) -> None:
        """Shorten what can be until the curve has its least height; nothing is cut in vain."""
        if self._left_mm() < LEAST_CURVE_MM:
            self.particulars = self.particulars_short
        more = bool(self.record) or bool(self.options.workshop.height_mm)
        least = LEAST_CURVE_WITH_RECORD_MM if more else LEAST_CURVE_MM
        while (left := self._left_mm()) < least:
            limits = self.limits
            for self.limits in limits.cuts():
                if self._left_mm() > left:
                    break
            else:
                self.limits = limits
                return

    # Heights, in mm

    def _left_mm(self) -> float:
        """What the other parts leave for the curve."""
        parts = (
            self._middle_mm(), self._springs_mm(), self._record_mm(), self._notes_mm()
        )  # fmt: skip
        others = [m for m in parts if m]
        taken = (
            self.options.workshop.height_mm
            + HEAD_MM
            + self._particulars_mm()
            + sum(others)
            + GAP_MM * (len(others) + 2)
        )
        return self.bottom - self.top - taken - self._cautions_mm() - TITLE_BLOCK_MM

    def _particulars_mm(self) -> float:
        return self.particulars.height_mm + GAP_MM

    def _tables(self) -> list[tuple[Rows, int, Content, Content]]:
        """The tables of the left column: rows, limit, heading, aside."""
        target = self.outcome.docket.target
        found = []
        if self.check:
            source = plain(target.source)
            aside = word(f"target-{target.read_as}", source=source) if source else ""
            found.append((self.check, self.limits.check, word("check-points"), aside))
        if self.vacuum:
            found.append((self.vacuum, self.limits.vacuum, word("vacuum-check-points"), ""))
        return found

    def _tables_mm(self) -> float:
        heights = [HEADING_MM + table_mm(t.columns, n) for t, n, _, _ in self._tables()]
        return sum(heights) + GAP_MM * max(len(heights) - 1, 0)

    def _capsule_mm(self) -> float:
        if not self.capsule:
            return 0.0
        return HEADING_MM + LEAST_CAPSULE_MM + self.capsule_facts.height_mm

    def _middle_mm(self) -> float:
        """Tables and capsule side by side; the settings too where they fill a gap there."""
        least = max(self._tables_mm() + self._settings_beside_mm(), self._capsule_mm())
        return least + self.stretch_mm

    def _settings_beside_mm(self) -> float:
        """The settings under the tables beside the capsule, if they fit there; else 0."""
        if not (self.capsule and self._settings_rows()):
            return 0.0
        needed = HEADING_MM + self.settings_narrow.height_mm
        needed += GAP_MM if self._tables() else 0.0
        return needed if self._tables_mm() + needed <= self._capsule_mm() + 6.0 else 0.0

    def _springs_mm(self) -> float:
        beside = self._settings_beside_mm() or not self._settings_rows()
        settings_mm = 0.0 if beside else self.settings.height_mm
        if not (self.springs or settings_mm):
            return 0.0
        springs = table_mm(self.springs.columns, self.limits.springs) + 1.0 if self.springs else 0.0
        return HEADING_MM + springs + settings_mm

    def _settings_rows(self) -> int:
        return self.settings.rows if self.limits.settings else 0

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
        if not self.record:
            return 0.0
        notes_mm = LEADING_MM * self.limits.notes + 0.8 if self.limits.notes else 0.0
        return RECORD_RULE_MM + ROW_MM * self._record_flow()[1] + notes_mm

    def _record(self, y: float) -> list[Element]:
        """The record in short, and the notes as its last part."""
        made: list[Element] = [Line(self.left, y, self.left + self.width, y, RULE_MM)]
        flowed, lines = self._record_flow(y + RECORD_RULE_MM)
        made += flowed
        if self.limits.notes:
            baseline = y + RECORD_RULE_MM + ROW_MM * lines + 3.0
            x, room = self.left + self.record_label_mm, self.width - self.record_label_mm
            made.append(Text(self.left, baseline, word("notes"), SMALL_PT, bold=True,
                             room_mm=self.record_label_mm - 1.0))  # fmt: skip
            made.append(Paragraph(x, baseline, self.notes, room, self.limits.notes, 8.0,
                                  LEADING_MM))  # fmt: skip
        return made

    def _notes_mm(self) -> float:
        """The notes under a heading of their own, where there is no record to stand in."""
        if self.record or not self.limits.notes:
            return 0.0
        return HEADING_MM + LEADING_MM * self.limits.notes + 0.6

    def _cautions_mm(self) -> float:
        return HEADING_MM + LEADING_MM * self.caution_lines

    # Parts

    def _head(self, y: float) -> list[Element]:
        """Title, what the paper is, and the overall decision in a frame."""
        record = self.outcome.docket.particulars
        title = plain(record.title) or plain(record.unit_number) or word("untitled")
        box = self._verdict(y)
        room = self.width - (70.0 if box else 0.0)
        right = self.left + self.width
        return [
            Text(self.left, y + 5.6, title, 15.0, bold=True, room_mm=room, least_pt=11.0),
            Text(self.left, y + 10.2, self.view.said, 8.0, room_mm=room),
            *box,
            Line(self.left, y + HEAD_MM - 0.6, right, y + HEAD_MM - 0.6, 0.5),
        ]

    def _verdict(self, y: float) -> list[Element]:
        comparison = self.outcome.comparison
        points = comparison.all_points
        if comparison.decision:
            verdict, code = comparison.decision, "overall-judged"
        elif any(p.estimate_deg is not None for p in points):
            verdict, code = self.outcome.comparison.overall.value, "overall-measured"
        elif points and all(p.predicted_inside is not None for p in points):
            inside = all(p.predicted_inside for p in points)
            verdict, code = ("inside" if inside else "outside"), "overall-predicted"
        else:
            return []
        width, right = 64.0, self.left + self.width
        text = word(f"{code}-{verdict.replace(' ', '-')}")
        return [
            Rect(right - width, y + 0.3, width, 8.6, 0.5),
            Marks(((right - width + 5.0, y + 4.6),), _MARKS.get(verdict, "ring"), 3.6, line_mm=0.6),
            Text(right - width + 9.5, y + 5.9, text, 10.0, bold=True, room_mm=width - 11.0),
        ]

    def _curve(self, y: float, height: float) -> list[Element]:
        made = heading(self.left, y, self.width, word("curve"))
        right = self.left + self.width
        free = self.left + heading_mm(word("curve"), self.ruler, self.width) + 4.0
        shown = speed_figure(self.outcome, self.view, other=self.before)
        keyed = (shown, vacuum_figure(self.outcome, self.view)) if self.capsule else (shown,)
        made += marks_key(keyed, self.ruler, free, right, y + 3.8)
        y, height = y + HEADING_MM, height - HEADING_MM
        if self.phrases:
            made += flow(self.left, y, self.width, self.phrases, self.ruler, lines=self.most_lines)[
                0
            ]
            y, height = y + ROW_MM * self.phrase_lines, height - ROW_MM * self.phrase_lines
        elif not has_curve(self.outcome):
            made.append(Text(self.left, y + ROW_MM - 1.2, word("no-curve"), SMALL_PT,
                             room_mm=self.width))  # fmt: skip
            y, height = y + ROW_MM, height - ROW_MM
        if self.read:
            height -= ROW_MM
            made.append(Text(self.left, y + height + 3.0, self.read, SMALL_PT,
                             room_mm=self.width - 42.0))  # fmt: skip
            count = beyond(shown)
            if count:
                made.append(Text(self.left + self.width, y + height + 3.0,
                                 word("beyond-the-plot", count=count), SMALL_PT, align="right",
                                 room_mm=40.0))  # fmt: skip
        return made + painted(shown, self.ruler, self.left, y, self.width, height,
                              second_scale(self.view))  # fmt: skip

    def _middle(self, y: float) -> list[Element]:
        made: list[Element] = []
        tables = self._tables()
        beside = self._settings_beside_mm()
        height = self._middle_mm()
        left_mm = self.left_mm
        widths = self._table_widths()
        at = y
        for rows, limit, title, aside in tables:
            made += heading(self.left, at, left_mm, title, aside, self.ruler)
            made += table(self.left, at + HEADING_MM, widths[len(rows.columns)], rows.columns,
                          rows.rows, limit)  # fmt: skip
            at += HEADING_MM + table_mm(rows.columns, limit) + GAP_MM
        if beside:
            made += heading(self.left, at, left_mm, word("settings"))
            made += self.settings_narrow.elements(self.left, at + HEADING_MM)
        if self.capsule:
            x = self.left + self.width - self.capsule_mm
            made += self._capsule(x, y, self.capsule_mm, height)
        return made

    def _capsule(self, x: float, y: float, width: float, height: float) -> list[Element]:
        made = heading(x, y, width, word("capsule"))
        plot_mm = height - HEADING_MM - self.capsule_facts.height_mm
        shown = vacuum_figure(self.outcome, self.view)
        made += painted(shown, self.ruler, x, y + HEADING_MM, width, plot_mm)
        return made + self.capsule_facts.elements(x, y + HEADING_MM + plot_mm)

    def _table_widths(self) -> dict[int, list[float]]:
        """Column widths by the number of columns, so that tables of one kind share a grid."""
        tables = [rows for rows, _, _, _ in self._tables()]
        found = {}
        for count in {len(t.columns) for t in tables}:
            alike = [t for t in tables if len(t.columns) == count]
            headings = tuple(
                replace(column, heading=tuple(h for t in alike for h in t.columns[i].heading))
                for i, column in enumerate(alike[0].columns)
            )
            cells = [row for t in alike for row in t.rows]
            found[count] = column_widths(self.left_mm, self.ruler, headings, cells)
        return found

    def _springs(self, y: float) -> list[Element]:
        beside = self._settings_beside_mm()
        with_settings = bool(self._settings_rows()) and not beside
        title = "springs-and-settings" if with_settings else "springs"
        made = heading(self.left, y, self.width, word(title if self.springs else "settings"))
        y += HEADING_MM
        if self.springs:
            columns, rows = self.springs.columns, self.springs.rows
            widths = column_widths(self.width, self.ruler, columns, rows)
            made += table(self.left, y, widths, columns, rows, self.limits.springs)
            y += table_mm(columns, self.limits.springs) + 1.0
        return made + (self.settings.elements(self.left, y) if with_settings else [])

    def _notes(self, y: float) -> list[Element]:
        made = heading(self.left, y, self.width, word("notes"))
        made.append(Paragraph(self.left, y + HEADING_MM + 2.6, self.notes, self.width,
                              self.limits.notes, 8.0, LEADING_MM))  # fmt: skip
        return made

    def _cautions(self, y: float) -> list[Element]:
        told: Content = ""
        if self.options.pages > 1:
            told = word("page-of", number=1, count=2)
        made = heading(self.left, y, self.width, word("cautions-heading"), told, self.ruler)
        made.append(Paragraph(self.left, y + HEADING_MM + 2.4, word("cautions"), self.width,
                              self.caution_lines, SMALL_PT, LEADING_MM))  # fmt: skip
        return made

    def _title_block(self, y: float) -> list[Element]:
        """Scale bar on the left, place for name and date on the right, in a frame."""
        bar_cell = 112.0
        right = self.left + self.width
        x, write_mm = self.left + bar_cell + 4.0, self.width - bar_cell - 8.0
        return [
            Rect(self.left, y, self.width, TITLE_BLOCK_MM, 0.35),
            Line(self.left + bar_cell, y, self.left + bar_cell, y + TITLE_BLOCK_MM, 0.35),
            *scale_bar(self.left + 6.0, y + TITLE_BLOCK_MM - 3.5),
            *place_to_write(x, y + 5.4, write_mm, word("name"), self.ruler),
            *place_to_write(x, y + 11.4, min(write_mm, right - x - 4.0), word("date"), self.ruler),
        ]
