"""Springs, weights, linkage and stop on a sheet, with the plan of the mechanism beside them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bobweight.core.figure.description import Content, word
from bobweight.core.figure.view import View
from bobweight.core.sheet.blocks import settings, spring_rows
from bobweight.core.sheet.description import Element, Ruler
from bobweight.core.sheet.layout import (
    HEADING_MM,
    column_widths,
    fact_list,
    heading,
    needed_mm,
    table,
    table_mm,
)
from bobweight.core.sheet.plan_drawing import plan_drawing

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

_LEAST_MM, _MOST_MM = 50.4, 75.4
_WIDEST_MM, _NARROWEST_MM = 66.0, 48.0
_GUTTER_MM = 4.0
_UNDER_TABLE_MM = 1.0


class MechanismPart:
    """The part as it stands across a page.

    The plan stands beside the table of springs where that leaves it room, else below it and larger.

    Parameters
    ----------
    aside : Content
        What is said of the figures beside their heading.
    """

    def __init__(
        self, outcome: Outcome, view: View, width_mm: float, ruler: Ruler, with_plan: bool,
        aside: Content = "",
    ) -> None:  # fmt: skip
        self.width_mm, self.ruler, self.aside = width_mm, ruler, aside
        self.springs = spring_rows(outcome, view)
        self.plan = plan_drawing(outcome.docket) if with_plan else None
        self.plan_mm, self.plan_width_mm = _LEAST_MM, _WIDEST_MM
        known = settings(outcome.docket, view)
        self.wide = fact_list(known, width_mm, 4, ruler)
        self.narrow = fact_list(known, width_mm - _WIDEST_MM - 6.0, 2, ruler)
        self._free_mm = 0.0
        if self.springs and self.plan:
            needed = needed_mm(self.springs.columns, self.springs.rows, ruler)
            self._free_mm = min(width_mm - needed - _GUTTER_MM, _WIDEST_MM)
        self.fits_beside = self._free_mm >= _NARROWEST_MM
        self.put_plan(self.fits_beside)

    def put_plan(self, beside: bool) -> None:
        """The plan beside the table, or below it."""
        self.beside = beside
        self.plan_width_mm = self._free_mm if beside else _WIDEST_MM

    def grow(self, spare_mm: float) -> None:
        """Let the plan take what is spare on its page."""
        if self.plan:
            self.plan_mm = min(max(self.plan_mm + spare_mm, _LEAST_MM), _MOST_MM)

    def height_mm(self, rows: int, with_settings: bool) -> float:
        """With so many rows of springs, with or without the settings; 0 if nothing is known."""
        settings_mm = (self.narrow if self.plan else self.wide).height_mm if with_settings else 0.0
        if not (self.springs or settings_mm or self.plan):
            return 0.0
        table_ = table_mm(self.springs.columns, rows) + _UNDER_TABLE_MM if self.springs else 0.0
        if not self.plan:
            return HEADING_MM + table_ + settings_mm
        if self.beside:
            return HEADING_MM + max(table_ + settings_mm, self.plan_mm)
        return HEADING_MM + table_ + max(settings_mm, self.plan_mm)

    def elements(self, x_mm: float, y_mm: float, rows: int, with_settings: bool) -> list[Element]:
        """The part from its top left corner."""
        title = "springs-and-settings" if with_settings else "springs"
        aside = self.aside or (word("angles-from") if self.springs else "")
        made = heading(x_mm, y_mm, self.width_mm, word(title if self.springs else "settings"),
                       aside, self.ruler)  # fmt: skip
        y_mm += HEADING_MM
        plan_top = y_mm
        if self.springs:
            taken = self.plan_width_mm + _GUTTER_MM if self.plan and self.beside else 0.0
            columns, cells = self.springs.columns, self.springs.rows
            widths = column_widths(self.width_mm - taken, self.ruler, columns, cells)
            made += table(x_mm, y_mm, widths, columns, cells, rows)
            y_mm += table_mm(columns, rows) + _UNDER_TABLE_MM
        if self.plan:
            left = x_mm + self.width_mm - self.plan_width_mm
            top = plan_top if self.beside else y_mm
            made += self.plan.elements(left, top, self.plan_width_mm, self.plan_mm, self.ruler)
        shown = self.narrow if self.plan else self.wide
        return made + (shown.elements(x_mm, y_mm) if with_settings else [])
