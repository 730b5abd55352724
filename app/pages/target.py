"""What the curve should be."""

from __future__ import annotations

from typing import cast

from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from bobweight.app.editors.form import Form
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.app.editors.take_table import docket_taker
from bobweight.app.messages import edit_name, sentence
from bobweight.app.pages.page import Page
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.widgets.words import Selectable
from bobweight.app.words import option_text, translate
from bobweight.core.docket.guesses import frame_advice
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import Target
from bobweight.core.problems import Problem
from bobweight.core.record import parameter_at

_TARGET = ("target",)


class FrameAdvice(QWidget):
    """Says that a table looks like figures of another kind, and offers to say so."""

    def __init__(self, page: TargetPage, key: str) -> None:
        super().__init__(page)
        self._page = page
        self._path = (*_TARGET, key)
        self._likely = ""
        self.said = Selectable()
        self.said.setWordWrap(True)
        set_role(self.said, "advice")
        self.button = QPushButton()
        self.button.clicked.connect(self._accept)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(self.said, 1)
        layout.addWidget(self.button)

    def show_problem(self, problems: list[Problem]) -> None:
        """Show the advice for this table, if any."""
        mine = [p for p in problems if p.path == self._path]
        self.setVisible(bool(mine))
        if mine:
            self._likely = str(mine[0].facts["likely"])
            text = sentence(mine[0], self._page.store.docket, self._page.display)
            self.said.setText(f"△ {text}")
            words = option_text(parameter_at(self._page.store.docket, self._path), self._likely)
            self.button.setText(translate("pages", "They are: {frame}").format(frame=words))

    def _accept(self) -> None:
        store = self._page.store
        store.edit(edit_name(self._path, store.docket, self._likely), self._path, self._likely)


class TargetPage(Page):
    """Check points of the centrifugal and of the vacuum advance."""

    key = "target"
    roots = (_TARGET,)

    @classmethod
    def wanting(cls, feed: OutcomeFeed) -> bool:
        """True without any check point, and while one has no limit."""
        target = feed.outcome.docket.target
        limits = [(p.least_deg, p.most_deg) for p in target.points]
        limits += [(p.least_deg, p.most_deg) for p in target.vacuum_points]
        return not limits or (None, None) in limits

    def build(self) -> None:
        store, display = self.store, self.display
        head = Form(Target, _TARGET, ("source", "frame", "read_as"), store, display, ("source",))
        self._static = Form(SettingUp, ("setting_up",), ("static_deg",), store, display)
        self._advice = FrameAdvice(self, "frame")
        self.points = RecordTable(
            store, (*_TARGET, "points"), ("speed_rpm", "least_deg", "most_deg"), display,
            take=docket_taker("target", store, display).paste, unit_note=self._note,
            name=translate("pages", "Centrifugal check points"),
        )  # fmt: skip
        self._limits = Form(
            Target, _TARGET, ("no_advance_below_rpm", "ceiling_deg"), store, display
        )
        self.add_group(
            translate("pages", "Centrifugal"), head, self._static, self._advice, self.points,
            self._limits,
        )  # fmt: skip
        vacuum_head = Form(Target, _TARGET, ("vacuum_frame",), store, display)
        self._vacuum_advice = FrameAdvice(self, "vacuum_frame")
        self.vacuum_points = RecordTable(
            store, (*_TARGET, "vacuum_points"), ("depression_kpa", "least_deg", "most_deg"),
            display, take=docket_taker("vacuum", store, display).paste, unit_note=self._vacuum_note,
            name=translate("pages", "Vacuum check points"),
        )  # fmt: skip
        self.add_group(
            translate("pages", "Vacuum"), vacuum_head, self._vacuum_advice, self.vacuum_points
        )

    def follow(self) -> None:
        super().follow()
        docket = self.store.docket
        self._static.setVisible(docket.target.frame_taken == "crank-static")
        advice = frame_advice(docket)
        self._advice.show_problem(advice)
        self._vacuum_advice.show_problem(advice)
        for table in (self.points, self.vacuum_points):
            table.model.show_again()
        for key, made in self._limits.fields.items():
            cast(NumberField, made).tell_unit(self._note(key).replace("\n", " "))

    def _note(self, key: str) -> str:
        """Unit of a column with the frame of the table."""
        frame = self.store.docket.target.frame_taken
        if key.endswith("_rpm"):
            if frame == "distributor":
                return translate("pages", "dist. rev/min")
            return translate("pages", "engine rev/min")
        return {
            "distributor": translate("pages", "dist. °"),
            "crank": translate("pages", "crank °"),
        }.get(frame, translate("pages", "crank °\nwith static"))

    def _vacuum_note(self, key: str) -> str:
        if key == "depression_kpa":
            return self.display.depression_unit
        if self.store.docket.target.vacuum_frame_taken == "distributor":
            return translate("pages", "dist. °")
        return translate("pages", "crank °")
