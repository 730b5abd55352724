"""Putting it together again: the check list for this unit, and the plan to hold beside the part."""

from __future__ import annotations

from typing import cast

from PySide6.QtWidgets import QCheckBox, QVBoxLayout, QWidget

from bobweight.app.editors.choice import FlagField
from bobweight.app.editors.entry import Lines, NumberEntry
from bobweight.app.editors.form import Form
from bobweight.app.messages import sentence
from bobweight.app.messages.reassembly_words import (
    step_text,
    turns_text,
)
from bobweight.app.pages.page import Page
from bobweight.app.pages.reassembly.slot_plan import BAR_MM, SlotPlanView
from bobweight.app.paper.words import worded
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.print_button import PrintButton
from bobweight.app.widgets.section import Section
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import translate
from bobweight.core.bench.reassembly import (
    GROUPS,
    ReassemblyStep,
    check_list,
    slot_plan,
    steps_left,
)
from bobweight.core.bench.sums import ScreenBar
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import parameters
from bobweight.core.sheet.check_list import group_title, plan_assumed, step_title

_ROOT = ("reassembly",)
_SIZES = (
    "dog_offset_mm", "dog_length_mm", "dog_width_mm", "shaft_mm", "cam_across_mm", "slot_deg",
)  # fmt: skip


class StepRow(QWidget):
    """One step: its tick, and below it what to look for; a trap says so."""

    def __init__(self, page: ReassemblyPage, key: str) -> None:
        super().__init__(page)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 4)
        layout.setSpacing(1)
        self.form = Form(Reassembly, _ROOT, (key,), page.store, page.display)
        self.field = self.form.fields[key]
        layout.addWidget(self.field)
        self.said = AnswerLabel("faint")
        self.said.setContentsMargins(24, 0, 0, 0)
        layout.addWidget(self.said)

    def show_step(self, step: ReassemblyStep) -> None:
        """Show what to look for on this unit."""
        text = step_text(step)
        if step.trap:
            text = translate("pages", "△ Trap. {text}").format(text=text)
        self.said.show_text(text)
        cast(FlagField, self.field).box.setText(worded(step_title(step)))
        set_role(self.said, "advice" if step.trap and not step.done else "faint")
        cast(FlagField, self.field).box.setAccessibleDescription(text)


class ReassemblyPage(Page):
    """The check list, ticked as the work goes, and the plan of rotor slot and dog."""

    key = "reassembly"
    roots = (_ROOT,)

    @classmethod
    def wanting(cls, feed: OutcomeFeed) -> bool:
        """True until every step for this unit is ticked."""
        return steps_left(feed.outcome.docket) > 0

    def build(self) -> None:
        self.cautions = CautionBox(self.display)
        self.cautions.show_act("reassembly")
        self.add_group("", self.cautions)
        self.progress = PlainLabel()
        self.turns = AnswerLabel("faint")
        self._drive = Form(Reassembly, _ROOT, ("drive",), self.store, self.display)
        self.print_button = PrintButton(
            "steps", translate("pages", "Print the list…"),
            translate("pages", "With boxes to tick, and the plan at true size."),
        )  # fmt: skip
        self.add_group("", self.progress, self.turns, self._drive, self.print_button)
        self.rows: dict[str, StepRow] = {}
        self.groups: dict[str, Section] = {}
        for group, keys in GROUPS:
            rows = {key: StepRow(self, key) for key in keys}
            self.rows |= rows
            self.groups[group] = self.add_group(worded(group_title(group, True)), *rows.values())
        self._build_plan()
        notes = Form(Reassembly, _ROOT, ("notes",), self.store, self.display)
        self.add_group(translate("pages", "Notes"), notes)

    def _build_plan(self) -> None:
        self._sizes = Form(Reassembly, _ROOT, _SIZES, self.store, self.display, plain=True)
        self.plan = SlotPlanView()
        self.plan_said = AnswerLabel("faint")
        self.over_box = QCheckBox(translate("pages", "Seen with the dog towards you"))
        self.over_box.toggled.connect(self.follow)
        self.size_box = QuietComboBox()
        self.size_box.setAccessibleName(translate("pages", "Size of the drawing"))
        for times, text in (
            (1, translate("pages", "Size of the part")),
            (2, translate("pages", "Twice the part")),
            (4, translate("pages", "Four times the part")),
        ):
            self.size_box.addItem(text, times)
        self.size_box.setCurrentIndex(1)
        self.size_box.currentIndexChanged.connect(self.follow)
        bar = parameters(ScreenBar)["bar_mm"]
        self.bar_entry = NumberEntry(bar, self.display, take=self._take_bar)
        self.bar_entry.show_value(BAR_MM)
        lines = Lines()
        lines.add(translate("pages", "Drawn at"), self.size_box)
        lines.add_entry(self.bar_entry)
        self._plan_group = self.add_group(
            translate("pages", "Rotor slot and dog"), self._sizes, self.plan_said,
            self.over_box, lines, self.plan,
        )  # fmt: skip

    def follow(self) -> None:
        super().follow()
        docket = self.store.docket
        steps = check_list(docket)
        self._show_steps(steps)
        left = sum(not step.done for step in steps)
        done = len(steps) - left
        text = translate("pages", "{done} of {all} steps ticked.").format(done=done, all=len(steps))
        self.progress.setText(f"✓ {text}" if not left else text)
        self.turns.setText(turns_text(docket.particulars))
        self._show_plan()

    def _show_steps(self, steps: tuple[ReassemblyStep, ...]) -> None:
        for group, section in self.groups.items():
            section.set_title(worded(group_title(group, self.store.docket.may_have_capsule)))
        by_key = {step.key: step for step in steps}
        for key, row in self.rows.items():
            row.setVisible(key in by_key)
            if key in by_key:
                row.show_step(by_key[key])

    def _show_plan(self) -> None:
        drive = self.store.docket.reassembly.drive_taken
        dog = drive in ("offset-dog", "centred-dog")
        self._plan_group.setVisible(dog)
        self._sizes.show_only(_SIZES if drive == "offset-dog" else _SIZES[1:])
        plan = None
        try:
            plan = slot_plan(self.store.docket)
        except BobweightError as error:
            problem = error.problem
            if problem.code == "missing":
                said = translate("pages", "The plan is drawn once the sizes are known.")
            else:
                said = "△ " + sentence(problem, self.store.docket, self.display)
        else:
            said = translate(
                "pages",
                "Hold the unit with its dog’s blade across and the wide side up. The arrow is the "
                "way the rotor’s slot must point. Drawn are the cam, the slot in it and the dog’s "
                "blade; what is hidden is dashed.",
            )
            said = "\n".join([*map(worded, plan_assumed(plan)), said])
        self.plan_said.setText(said)
        self.over_box.setVisible(plan is not None)
        required(self.bar_entry.parentWidget()).setVisible(plan is not None)
        self.plan.show_plan(plan, self.over_box.isChecked(), self.size_box.currentData())

    def _take_bar(self, measured_mm: float | None) -> None:
        """The bar was measured: draw so that it comes out right."""
        self.plan.set_correction(self.plan.correction * BAR_MM / required(measured_mm))
        self.bar_entry.show_value(BAR_MM)
