"""Setting the unit on the engine: dwell, static and total, the lamp card, instruments, rotor."""

from __future__ import annotations

import re
from typing import Protocol

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit

from bobweight.app.editors.field import Field
from bobweight.app.messages.figures import session_name
from bobweight.app.messages.lacking import curve_needs, lacking
from bobweight.app.pages.page import Page, is_empty
from bobweight.app.pages.setting_up.instruments import (
    EngineCautions,
    LagSum,
    MarkSum,
    RotorSection,
    TachometerSum,
)
from bobweight.app.pages.setting_up.points import CoilSection, PointsSection
from bobweight.app.pages.setting_up.static import CardSection, StatesSection, StaticSection
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import RichLabel, escaped
from bobweight.app.widgets.section import Section
from bobweight.app.widgets.words import Links
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.readings import Instrument
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.problems import Path

_EMPTY = (SettingUp(), new_docket().setting_up)


class _Part(Protocol):
    """What stands in a section."""

    group: Section

    def follow(self) -> None: ...


class SettingUpPage(Page):
    """From the points to the driving states, in the order of the work: dwell, then timing."""

    key = "setting_up"
    roots = (("setting_up",), ("points",), ("coil",))

    def build(self) -> None:
        self.contents = RichLabel()
        self.contents.setWordWrap(True)
        self.contents.setAccessibleName(translate("pages", "Sections of this page"))
        self.contents.take_links(True)
        self.contents.linkActivated.connect(self._go_to)
        self.body.addWidget(self.contents)
        self.lacks = ""
        self._to_mend: Path = ("mechanism",)
        self.lacking = Links("faint")
        self.lacking.linkActivated.connect(self._go_to_mechanism)
        self.body.addWidget(self.lacking)
        self.engine = EngineCautions(self)
        self.points = PointsSection(self)
        self.static = StaticSection(self)
        self.card = CardSection(self)
        self.states = StatesSection(self)
        self.rotor = RotorSection(self)
        self.coil = CoilSection(self)
        self.mark = MarkSum(self)
        self.tachometer = TachometerSum(self)
        self.lag = LagSum(self)
        self._behind: list[_Part] = []
        self._sections: tuple[_Part, ...] = (
            self.points, self.static, self.card, self.states, self.rotor, self.coil, self.mark,
            self.tachometer, self.lag,
        )  # fmt: skip
        self._fill_contents()

    def _fill_contents(self) -> None:
        """Links to the groups, by their headings."""
        self._frames = self.sections.all()
        self._frames.sort(key=self.body.indexOf)
        names = (
            re.split("[:,]", frame.title)[0].replace(" ", "\u00a0") for frame in self._frames
        )  # a link is never broken
        links = [f'<a href="{number}">{escaped(name)}</a>' for number, name in enumerate(names)]
        self.contents.setText("\u00a0\u00a0\u00a0 ".join(links))

    def _go_to(self, link: str) -> None:
        """Show a group and give its first field the keyboard."""
        frame = self._frames[int(link)]
        self.sections.reveal(frame.content)
        area = self.scroll_area()
        if area is not None:
            area.verticalScrollBar().setValue(frame.y())
        takers = [
            w for w in frame.findChildren(QLineEdit) if w.isVisibleTo(self) and w.isEnabled()
        ]  # fmt: skip
        if takers:
            takers[0].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _show_lacking(self) -> None:
        """Why there is no curve, once for all the groups that want one; or that it is reckoned with
        a figure that is doubted: what is set by it would be wrong too."""
        outcome, doubts = self.feed.outcome, self.feed.decisions.doubts
        self.lacks = curve_needs(outcome, doubts)
        found = lacking(outcome, doubts) if self.lacks else ()
        show = translate("pages", "Show")
        lines = [(f"{each.sign} {self.lacks}", show, "mechanism") for each in found[:1]]
        self._to_mend = found[0].path if found else ("mechanism",)
        decided = self.feed.decisions.current
        if not lines and decided is not None:
            from bobweight.app.messages.judgement import reckoned_with_doubted

            judgement = decided.decision.judgement
            if said := reckoned_with_doubted(judgement):
                self._to_mend = next(iter(judgement.doubted), self._to_mend)
                lines = [(f"△ {said}", show, "mechanism")]
        role = "wrong" if found and found[0].sign == "▲" else "faint"
        set_role(self.lacking, "advice" if outcome.prediction is not None else role)
        self.lacking.show_lines(lines)

    def _go_to_mechanism(self, _link: str) -> None:
        self.feed.decisions.path_asked.emit(self._to_mend)

    @classmethod
    def state_of(cls, feed) -> str:
        docket = feed.outcome.docket
        untouched = docket.setting_up in _EMPTY
        if untouched and all(is_empty(docket, root) for root in cls.roots[1:]):
            return "empty"
        return cls.state_of_filled(feed)

    @classmethod
    def wanting(cls, feed: OutcomeFeed) -> bool:
        """True until dwell, static timing, the rotor's place and a curve are known."""
        docket = feed.outcome.docket
        figures = (
            docket.points.known_dwell_deg, docket.setting_up.static_deg,
            docket.setting_up.rotor.off_deg,
        )  # fmt: skip
        return None in figures or feed.outcome.prediction is None

    def follow(self) -> None:
        super().follow()
        self._show_lacking()
        self._behind = [section for section in self._sections if not section.group.is_open]
        for section in self._sections:
            if section not in self._behind:
                section.follow()

    def _catch_up(self) -> None:
        """What was closed as the docket changed follows it."""
        behind, self._behind = self._behind, []
        for section in behind:
            section.follow()

    def _hold_tables(self, seen_px: int) -> None:
        self._catch_up()  # sections are about to be measured, and opened for what they hold
        super()._hold_tables(seen_px)

    def _fields(self) -> list[Field]:
        self._catch_up()  # a closed section says which of its fields there are
        return super()._fields()

    # For the sections -----------------------------------------------------------------------

    def has_points(self) -> bool:
        """True once anything is typed of the points."""
        return not is_empty(self.store.docket, ("points",))

    def session_index(self) -> int:
        """The session shown; -1 if there is none."""
        return self.display.session_index(self.store.docket)

    def instrument(self) -> Instrument | None:
        """The instruments of the session shown."""
        index = self.session_index()
        return self.store.docket.sessions[index].instrument if index >= 0 else None

    def session_title(self) -> str:
        """What the session shown is called."""
        index = self.session_index()
        return session_name(self.store.docket, index) if index >= 0 else ""

    def bands(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The target's check points: engine rev/min, least and most in distributor degrees."""
        docket: Docket = self.store.docket
        points = self.feed.outcome.comparison.check_points
        ratio = docket.particulars.ratio_taken
        return (
            np.array([(p.speed_rpm or 0.0) * ratio for p in points]),
            np.array([p.low_deg for p in points]),
            np.array([p.high_deg for p in points]),
        )
