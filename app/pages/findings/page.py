"""The strip-down record: what was found, held against its limits."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from bobweight.app.editors.columns import InColumns
from bobweight.app.editors.form import Form
from bobweight.app.editors.table import RecordTable
from bobweight.app.messages import sentence
from bobweight.app.messages.pasting import numbers_parser
from bobweight.app.pages.findings.finding_words import (
    group_head,
    group_title,
    row_text,
    scatter_text,
    state_colour,
    summary_text,
    total_scatter_text,
)
from bobweight.app.pages.findings.photographs import PhotographsView
from bobweight.app.pages.page import Page
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_colour, theme_for
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.widgets.section import Section
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import translate
from bobweight.core.bench.findings import (
    GROUPS,
    FindingsRecord,
    JudgedFinding,
    judge_findings,
    limit_keys,
)
from bobweight.core.docket.findings import FindingLimits, Findings, LeakReading, LobeAngle
from bobweight.core.record import parameters

_FINDINGS = ("findings",)
_NOT_MEASURED = (None, (), "unseen")
_OF_A_CAPSULE = ("dwell_vacuum_change_deg", "plate", "leak")
_APART_PX = 8  # between a table's buttons and what follows
_TABLES = {
    "lobes_deg": (LobeAngle, ("firing_deg",), "u_lobe_deg"),
    "leak": (LeakReading, ("time_s", "depression_kpa"), "u_leak_kpa"),
}


class FindingRow(QWidget):
    """One finding: its field or table, its state, its cost, and its limits when asked for."""

    def __init__(self, page: FindingsPage, key: str) -> None:
        super().__init__(page)
        self._page = page
        self.key = key
        store, display = page.store, page.display
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 4)
        layout.setSpacing(3)
        if key in _TABLES:
            record, columns, u_key = _TABLES[key]
            title = PlainLabel(translate("parameters", parameters(Findings)[key].label))
            set_tip(title, translate("parameters", parameters(Findings)[key].help))
            layout.addWidget(title)
            self.table = RecordTable(
                store, (*_FINDINGS, key), columns, display,
                parse=numbers_parser(record, columns, display), name=title.text(),
            )  # fmt: skip
            layout.addWidget(self.table)
            layout.addSpacing(_APART_PX)
            layout.addWidget(Form(Findings, _FINDINGS, (u_key,), store, display))
        else:
            layout.addWidget(Form(Findings, _FINDINGS, (key,), store, display))
        self.said = AnswerLabel()
        layout.addWidget(self.said)
        self.cost = AnswerLabel("faint")
        layout.addWidget(self.cost)
        keys = limit_keys(key)
        self.limits = Form(FindingLimits, (*_FINDINGS, "limits"), keys, store, display)
        self.limits.setVisible(False)
        layout.addWidget(self.limits)

    def show_row(self, row: JudgedFinding, limits: bool) -> None:
        """Show how the finding stands."""
        leak_test_s = self._page.store.docket.findings.limits.leak_test_s
        text = row_text(row, self._page.display, leak_test_s)
        if row.problem is not None:
            text = "△ " + sentence(row.problem, self._page.store.docket, self._page.display)
        theme = theme_for()
        colour = theme.advice if row.problem is not None else state_colour(theme, row.state)
        self.said.setText(text)
        set_colour(self.said, colour)
        self.said.setAccessibleName(text)
        cost = ""
        if row.scatter is not None:
            cost = scatter_text(row.scatter, row.lobes)
        elif row.key == "side_play_mm" and row.value is not None:
            cost = translate(
                "pages",
                "What it costs at the crank is told once the cam is known (Setting up, Points) and "
                "a gap that it can open.",
            )
        self.cost.setText(cost)
        self.limits.setVisible(limits and bool(limit_keys(self.key)))


class FindingsPage(Page):
    """What was found, part by part, with photographs and notes."""

    key = "findings"
    roots = (_FINDINGS, ("photographs",))

    @classmethod
    def wanting(cls, feed: OutcomeFeed) -> bool:
        """True while anything that this unit has is not measured or looked at."""
        docket = feed.outcome.docket
        left_out = () if docket.has_capsule else _OF_A_CAPSULE
        return any(
            getattr(docket.findings, key) in _NOT_MEASURED
            for _, keys in GROUPS for key in keys if key not in left_out
        )  # fmt: skip

    def build(self) -> None:
        self.cautions = CautionBox(self.display)
        self.cautions.show_act("bench")
        self.add_group("", self.cautions)
        self.summary = AnswerLabel()
        self.scatter = AnswerLabel()
        self.limits_box = QCheckBox(translate("pages", "Alter the limits"))
        set_tip(
            self.limits_box,
            translate("pages", "Limits are common practice and vary by maker; set your own."),
        )
        self.limits_box.toggled.connect(self.follow)
        self.add_group("", self.summary, self.scatter, self.limits_box)
        self.rows: dict[str, FindingRow] = {}
        self.groups: dict[str, Section] = {}
        for group, keys in GROUPS:
            rows = [FindingRow(self, key) for key in keys]
            self.rows.update(zip(keys, rows, strict=True))
            self.groups[group] = self.add_group(group_title(group), InColumns(*rows))
        notes = Form(Findings, _FINDINGS, ("notes",), self.store, self.display)
        self.add_group(translate("pages", "Notes"), notes)
        self.photographs = PhotographsView(self.store, self.display)
        self.add_group(translate("pages", "Photographs"), self.photographs)

    def follow(self) -> None:
        super().follow()
        record = judge_findings(self.store.docket)
        self._show_summary(record)
        for key, row in self.rows.items():
            row.show_row(record.row(key), self.limits_box.isChecked())
        for group, keys in GROUPS:  # a part that is shut tells what is to be looked at in it
            head = group_head(group, [record.row(key).state for key in keys])
            self.groups[group].set_title(head)

    def close_down(self) -> None:
        """The window closes."""
        self.photographs.arrivals.close()

    def _show_summary(self, record: FindingsRecord) -> None:
        self.summary.setText(summary_text(record))
        text = total_scatter_text(record)
        self.scatter.setText(text)
        colour = state_colour(theme_for(), record.scatter_state)
        set_colour(self.scatter, colour)
