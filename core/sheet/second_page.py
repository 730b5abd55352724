"""The second page of a sheet: the record of the work at length.

Before and after, findings, alterations, setting up. What the docket does not hold is left out; the
plot takes the room that is left; where that does not suffice the longest table is cut.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import replace
from typing import TYPE_CHECKING

from bobweight.core.bench.findings import judge_findings
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.speed import speed_figure
from bobweight.core.figure.view import View
from bobweight.core.problems import required
from bobweight.core.sheet.caution_list import CautionList
from bobweight.core.sheet.description import Element, Paragraph, Ruler, Text, plain
from bobweight.core.sheet.found_left import with_both_curves
from bobweight.core.sheet.layout import (
    HEADING_MM,
    PAD_MM,
    ROW_MM,
    SMALL_PT,
    Rows,
    cautions_overleaf,
    column_widths,
    fact_list,
    heading,
    heading_mm,
    table,
    table_mm,
)
from bobweight.core.sheet.pages import MARGIN_MM
from bobweight.core.sheet.plot import marks_key, painted, second_scale
from bobweight.core.sheet.record import (
    Compared,
    alteration_rows,
    before_and_after_rows,
    finding_rows,
    lamp_rows,
    scatter_words,
    session_name,
    setting_facts,
    state_rows,
)

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

_HEAD_MM = 12.6
FOOT_MM = 6.0
_GAP_MM = 3.0
_LEAST_PLOT_MM, _MOST_PLOT_MM = 48.0, 90.0
_LEAST_ROWS = 4
_MOST_NOTE_LINES, _LEADING_MM = 4, 3.4
_GUTTER_MM = 6.0


_NAMES = {
    "compared": "before-and-after", "findings": "findings", "altered": "alterations",
    "set": "setting-up",
}  # fmt: skip
_ALL = frozenset(_NAMES)
AT_LENGTH: tuple[frozenset[str], ...] = (
    _ALL, _ALL - {"set"}, _ALL - {"findings"}, _ALL - {"findings", "set"}, frozenset(),
)  # fmt: skip
"""What of the record is told at length, the fullest first; the rest is told in short."""


class SecondPage:
    """The record of one docket: a page of its own, or parts for a page that has room."""

    def __init__(
        self, outcome: Outcome, pair: Compared | None, view: View, ruler: Ruler,
        width_mm: float, height_mm: float, cautions: CautionList,
    ) -> None:  # fmt: skip
        self.cautions = cautions
        self.told = AT_LENGTH[0]
        self.row_mm = ROW_MM
        self.outcome, self.pair, self.view, self.ruler = outcome, pair, view, ruler
        self.left, self.top = MARGIN_MM, MARGIN_MM
        self.width, self.bottom = width_mm - 2 * MARGIN_MM, height_mm - MARGIN_MM
        docket = outcome.docket
        self.judged = judge_findings(docket)
        self.facts = fact_list(setting_facts(outcome, view), self.width, 3, ruler)
        self.tables: dict[str, Rows] = {}
        for key, rows in (
            ("compared", before_and_after_rows(pair, view) if pair else None),
            ("findings", finding_rows(self.judged, docket, view)),
            ("altered", alteration_rows(docket)),
            ("lamp", lamp_rows(outcome, view)),
            ("states", state_rows(outcome, view)),
        ):
            if rows is not None:
                self.tables[key] = rows
        notes = docket.findings.notes.splitlines()
        self.notes = "\n".join(plain(line) for line in notes if plain(line))
        inner = self.width - 2 * PAD_MM
        lines = ruler.lines(self.notes, 8.0, inner) if self.notes else 0
        self.note_lines = min(lines, _MOST_NOTE_LINES)
        self.limits = {key: len(rows.rows) for key, rows in self.tables.items()}

    def set_rows(self, row_mm: float) -> None:
        """Set tables and facts with rows of this height."""
        self.row_mm, self.facts = row_mm, replace(self.facts, row_mm=row_mm)

    def elements(self) -> list[Element]:
        """A page of its own, from top to bottom; none where nothing is recorded."""
        self._make_room()
        if not self.parts_mm() and not self.plotted:
            return []
        made = self._head()
        y = self.top + _HEAD_MM
        spare = self._left_mm() - self.cautions.height_mm - _GAP_MM
        at_length = self.cautions.height_mm > 0.0 and (spare >= _LEAST_PLOT_MM * self.plotted)
        if self.plotted:
            plot_mm = min(spare if at_length else self._left_mm(), _MOST_PLOT_MM)
            made += self._plot(y, plot_mm)
            y += plot_mm + _GAP_MM
        made += self.parts_from(y)
        if at_length:
            high = self.bottom - FOOT_MM - self.cautions.height_mm
            return made + self.cautions.elements(self.left, high)
        return [*made, cautions_overleaf(self.left, self.bottom, self.width - 30.0)]

    def parts_mm(self) -> float:
        """What the parts told take without a plot, each with the gap below it."""
        return sum(part_mm + _GAP_MM for part_mm, _ in self._parts() if part_mm)

    def parts_from(self, y: float) -> list[Element]:
        """The parts below ``y``, without a plot."""
        made: list[Element] = []
        for part_mm, part in self._parts():
            if part_mm:
                made += part(y)
                y += part_mm + _GAP_MM
        return made

    def _parts(self) -> tuple[tuple[float, Callable[[float], list[Element]]], ...]:
        return tuple(part for key, part in self._each().items() if key in self.told)

    def _each(self) -> dict[str, tuple[float, Callable[[float], list[Element]]]]:
        return {
            "compared": (self._table_mm("compared"), self._compared),
            "findings": (self._findings_mm(), self._findings),
            "altered": (self._table_mm("altered"), self._altered),
            "set": (self._setting_mm(), self._setting),
        }

    def with_not_printed(self, page: list[Element], told: Collection[str]) -> list[Element]:
        """The first page of the print with what of the record none of its pages tells at length,
        beside what the paper is."""
        named = self._not_printed(told)
        if not named:
            return page
        needed = self.ruler.width_mm(named, SMALL_PT) + 0.5
        free = self.width - self.ruler.width_mm(self.view.said, 8.0) - 4.5
        room = max(min(needed, self.width / 2), min(needed, free))
        made: list[Element] = []
        for element in page:
            if isinstance(element, Text) and element.text == self.view.said:
                element = replace(element, room_mm=self.width - room - 4.0)
                made.append(Text(self.left + self.width, element.y_mm, named, SMALL_PT,
                                 align="right", room_mm=room))  # fmt: skip
            made.append(element)
        return made

    def _not_printed(self, told: Collection[str]) -> Content:
        """Which parts there are that no page of the print tells at length; empty where all are."""
        left = [_NAMES[key] for key, (mm, _) in self._each().items() if mm and key not in told]
        if not left:
            return ""
        names = word(f"list-of-{len(left)}", **{f"n{i}": word(n) for i, n in enumerate(left)})
        return word("not-printed", names=names)

    def _make_room(self) -> None:
        """Give the plot up where the tables need its room (the first page has it too), then cut
        the longest table, row by row."""
        self.plotted = self.pair is not None
        if self.plotted and self._left_mm() < _LEAST_PLOT_MM:
            self.plotted = False
        while self._left_mm() < 0.0:
            longest = max(self.limits, key=lambda key: self.limits[key], default="")
            if not longest or self.limits[longest] <= _LEAST_ROWS:
                return
            self.limits[longest] -= 1

    # Heights, in mm

    def _left_mm(self) -> float:
        taken = self.parts_mm() + _GAP_MM * self.plotted
        return self.bottom - self.top - _HEAD_MM - FOOT_MM - taken

    def _table_mm(self, key: str) -> float:
        if key not in self.tables:
            return 0.0
        return HEADING_MM + table_mm(self.tables[key].columns, self.limits[key], self.row_mm)

    def _findings_mm(self) -> float:
        notes_mm = _LEADING_MM * self.note_lines + 1.0 if self.note_lines else 0.0
        table_mm = self._table_mm("findings") or (HEADING_MM if notes_mm else 0.0)
        return table_mm + notes_mm

    def _side_by_side_mm(self) -> float:
        """Lamp and driving states."""
        found = [table_mm(self.tables[key].columns, self.limits[key], self.row_mm)
                 for key in ("lamp", "states") if key in self.tables]  # fmt: skip
        return max(found, default=0.0)

    def _setting_mm(self) -> float:
        inner = self._side_by_side_mm()
        if not (inner or self.facts.rows):
            return 0.0
        return HEADING_MM + self.facts.height_mm + (1.5 + inner if inner else 0.0)

    # Parts

    def _head(self) -> list[Element]:
        record = self.outcome.docket.particulars
        title: Content = plain(record.title) or plain(record.unit_number) or word("untitled")
        y, right = self.top, self.left + self.width
        return [
            Text(self.left, y + 5.6, title, 14.0, bold=True, room_mm=self.width, least_pt=10.0),
            Text(self.left, y + 9.4, word("record-said"), SMALL_PT, room_mm=50.0),
            Text(right, y + 9.4, self.view.said, SMALL_PT, align="right",
                 room_mm=self.width - 54.0),
        ]  # fmt: skip

    def _plot(self, y: float, height: float) -> list[Element]:
        made = heading(self.left, y, self.width, word("curve"))
        right = self.left + self.width
        free = self.left + heading_mm(word("curve"), self.ruler, self.width) + 4.0
        pair = required(self.pair)  # else it is not plotted
        shown = speed_figure(self.outcome, self.view, other=pair.before.reduced)
        shown = with_both_curves(shown, pair, self.view)
        made += marks_key((shown,), self.ruler, free, right, y + 3.8)
        return made + painted(shown, self.ruler, self.left, y + HEADING_MM, self.width,
                              height - HEADING_MM, second_scale(self.view))  # fmt: skip

    def _compared(self, y: float) -> list[Element]:
        pair = required(self.pair)  # else there is no such table
        told = word("compared-sessions", before=session_name(pair.before),
                    after=session_name(pair.after))  # fmt: skip
        return self._titled("compared", y, word("before-and-after"), told)

    def _findings(self, y: float) -> list[Element]:
        title, aside = word("findings"), scatter_words(self.judged)
        made = heading(self.left, y, self.width, title, aside, self.ruler)
        if "findings" in self.tables:
            made += self._table("findings", self.left, y + HEADING_MM, self.width)
        if self.note_lines:
            baseline = y + (self._table_mm("findings") or HEADING_MM) + 3.2
            made.append(Paragraph(self.left + PAD_MM, baseline, self.notes,
                                  self.width - 2 * PAD_MM, self.note_lines, 8.0,
                                  _LEADING_MM))  # fmt: skip
        return made

    def _altered(self, y: float) -> list[Element]:
        return self._titled("altered", y, word("alterations"))

    def _titled(self, key: str, y: float, title: Content, aside: Content = "") -> list[Element]:
        made = heading(self.left, y, self.width, title, aside, self.ruler)
        return made + self._table(key, self.left, y + HEADING_MM, self.width)

    def _table(self, key: str, x: float, y: float, width: float) -> list[Element]:
        rows = self.tables[key]
        widths = column_widths(width, self.ruler, rows.columns, rows.rows)
        return table(x, y, widths, rows.columns, rows.rows, self.limits[key], self.row_mm)

    def _setting(self, y: float) -> list[Element]:
        made = heading(self.left, y, self.width, word("setting-up"), word("setting-frame"),
                       self.ruler)  # fmt: skip
        y += HEADING_MM
        made += self.facts.elements(self.left, y)
        y += self.facts.height_mm + 1.5
        keys = [key for key in ("lamp", "states") if key in self.tables]
        wide = (self.width - _GUTTER_MM * (len(keys) - 1)) / max(len(keys), 1)
        for number, key in enumerate(keys):
            made += self._table(key, self.left + number * (wide + _GUTTER_MM), y, wide)
        return made
