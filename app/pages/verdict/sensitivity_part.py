"""How far each check point moves for one unit of each thing that a hand can change."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from bobweight.app.messages.explanations import sensitivity_name
from bobweight.app.pages.verdict.part import VerdictPart
from bobweight.app.theme import theme_for
from bobweight.app.widgets.card import put_below
from bobweight.app.widgets.table import FigureTable
from bobweight.app.widgets.words import words
from bobweight.app.words import QT_TRANSLATE_NOOP, translate
from bobweight.core.problems import required

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences

_NOTHING_DEG = 0.05


class SensitivityPart(VerdictPart):
    """A row for each thing, a column for each check point."""

    title = QT_TRANSLATE_NOOP("verdict", "What each thing does")

    def fill(self) -> None:
        self.said = words(role="faint")
        self.table: FigureTable | None = None
        self.body.addWidget(self.said)

    def show_found(self, found: Consequences) -> None:
        cure = found.decision.cure
        rows = [] if cure is None else [
            row for row in cure.sensitivities if np.abs(row.deg_as_told).max() > _NOTHING_DEG
        ]  # fmt: skip
        self.setVisible(bool(rows))
        if cure is None or not rows:
            return
        view = self.display.view(found.decision.docket)
        headings = [translate("verdict", "Alter")]
        headings += [view.speed(speed) for speed in cure.speeds_rpm]
        self._make_table(headings)
        docket = found.decision.judgement.described
        required(self.table).show_rows([
            [sensitivity_name(row, docket), *map(_degrees, row.deg_as_told * view.factor)]
            for row in rows
        ])  # fmt: skip
        self.said.setText(
            translate(
                "verdict",
                "For small alterations, in proportion: crank degrees at each check point (engine "
                "rev/min); · is under\u00a00.05.",
            )
            if view.frame != "distributor"
            else translate(
                "verdict",
                "For small alterations, in proportion: distributor degrees at each check point "
                "(rev/min); · is under\u00a00.05.",
            )
        )

    def _make_table(self, headings: list[str]) -> None:
        if self.table is None or len(self.table.table_model.columns) != len(headings):
            if self.table is not None:
                self.table.hide()
                self.table.deleteLater()
            name = translate("verdict", "Degrees at each check point for one unit of each thing")
            self.table = FigureTable(name, headings)
            font = self.table.font()
            font.setPointSizeF(theme_for().small_pt)
            self.table.setFont(font)
            header = self.table.horizontalHeader()
            header.setStyleSheet("QHeaderView::section { padding: 4px 1px; }")
            header.setFont(font)
            header.setMinimumSectionSize(self.table.fontMetrics().horizontalAdvance("0000") + 6)
            put_below(self.body, self.table)
        self.table.set_headings(headings)


def _degrees(value: float) -> str:
    if abs(value) < _NOTHING_DEG:
        return "·"
    return f"{value:.{0 if abs(value) >= 9.95 else 1}f}".replace("-", "−")
