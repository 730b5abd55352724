"""One spring of the tray, known one of three ways."""

from __future__ import annotations

from PySide6.QtWidgets import QButtonGroup, QPushButton, QWidget

from bobweight.app.editors.form import Form
from bobweight.app.messages.figures import spring_title, sure_text
from bobweight.app.pages.springs.acts import add_springs
from bobweight.app.pages.springs.coil_part import CoilPart
from bobweight.app.pages.springs.hang_part import HangPart
from bobweight.app.pages.springs.own_undo import OwnUndo
from bobweight.app.widgets.card import button, card, in_grid, put_below, stacked
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.words import note
from bobweight.app.words import QT_TRANSLATE_NOOP, option_text, translate
from bobweight.core.design.tray import OWN_FIGURES, TraySpring
from bobweight.core.docket.spring_source import KNOWN_FROM, SpringSource
from bobweight.core.record import parameters


class SpringPart(OwnUndo):
    """Label, count and note; figures from a hang test, from dimensions, or typed."""

    key = "spring"
    title = QT_TRANSLATE_NOOP("springs", "One spring")

    def build(self) -> None:
        self._way = "typed"
        self._way_of: int | None = None
        self.hang: HangPart | None = None
        self.coil: CoilPart | None = None
        self.add_button = button(
            translate("springs", "Add a spring"),
            translate("springs", "A new spring, to be measured."), self.add_spring,
        )  # fmt: skip
        self.empty = note(translate("springs", "The tray is empty. Add a spring to measure it."))
        self.box = QuietComboBox(12)
        self.box.setAccessibleName(translate("springs", "Which spring of the tray"))
        self.box.activated.connect(self.bench.choose)
        self._whole = QWidget()
        self._lay = stacked(self._whole, spacing=12)
        self.body.addWidget(self.empty)
        put_below(self.body, self.add_button)
        self.body.addWidget(self._whole)
        self._filled = False

    def _fill(self, row: int) -> None:
        """The forms, once there is a spring for them."""
        self._filled = True
        tray, display, prefix = self.tray, self.display, ("springs", row)
        self.who = Form(
            TraySpring, prefix, ("label", "count", "note"), tray, display, ("label", "note")
        )
        self.where = Form(SpringSource, (*prefix, "source"), ("note",), tray, display, ("note",))
        self.sure = note("")
        uses = self.use_row()
        self._lay.addWidget(
            card(translate("springs", "Spring"), self.box, self.who, self.where, self.sure, uses,
                 self.undo_row())
        )  # fmt: skip
        self._ways = QButtonGroup(self)
        self._ways.setExclusive(True)
        buttons = []
        for number, way in enumerate(("hang", "dimensions", "typed")):
            made = QPushButton(option_text(parameters(SpringSource)["known_from"], way))
            made.setCheckable(True)
            self._ways.addButton(made, number)
            buttons.append(made)
        buttons[1].setText(translate("springs", "Dimensions"))
        self._ways.idClicked.connect(self._way_chosen)
        self.way_buttons = dict(zip(("hang", "dimensions", "typed"), buttons, strict=True))
        self.typed = QWidget()
        self.figures = Form(TraySpring, prefix, OWN_FIGURES, tray, display)
        self.typed_button = button(
            translate("springs", "These figures are typed"),
            translate("springs", "Say that they no longer come from what was measured here."),
            self.state_typed,
        )
        stacked(self.typed, self.figures, self.typed_button)
        self._way_card = card(
            translate("springs", "How it is known"), in_grid(3, *buttons), self.typed
        )
        self._lay.addWidget(self._way_card)

    def follow(self) -> None:
        springs, row = self.tray.tray.springs, self.bench.row
        there = row >= 0
        self.empty.setVisible(not there)
        self.add_button.setVisible(not there)
        self._whole.setVisible(there)
        if not there:
            return
        if not self._filled:
            self._fill(row)
        for made, prefix in (
            (self.who, ("springs", row)), (self.figures, ("springs", row)),
            (self.where, ("springs", row, "source")),
        ):  # fmt: skip
            made.set_prefix(prefix)
        titles = [spring_title(spring, k) for k, spring in enumerate(springs)]
        if titles != [self.box.itemText(k) for k in range(self.box.count())]:
            self.box.clear()
            self.box.addItems(titles)
        self.box.setCurrentIndex(row)
        if self._way_of != row:
            self._way_of, self._way = row, springs[row].source.known_from
        self.sure.setText(sure_text(springs[row]))
        self._show_way(row)
        self.follow_undo()

    def _show_way(self, row: int) -> None:
        self.way_buttons[self._way].setChecked(True)
        layout = self._way_card.body
        if self._way == "hang" and self.hang is None:
            self.hang = HangPart(self.bench, row)
            layout.addWidget(self.hang)
        if self._way == "dimensions" and self.coil is None:
            self.coil = CoilPart(self.bench, row)
            layout.addWidget(self.coil)
        for way, made in (("hang", self.hang), ("dimensions", self.coil), ("typed", self.typed)):
            if made is not None:
                made.setVisible(way == self._way)
        if self._way == "hang" and self.hang is not None:
            self.hang.follow(row)
        elif self._way == "dimensions" and self.coil is not None:
            self.coil.follow(row)
        known = self.tray.tray.springs[row].source.known_from
        self.typed_button.setVisible(known != "typed")

    def _way_chosen(self, number: int) -> None:
        self.show_way(tuple(self.way_buttons)[number])

    def show_way(self, way: str) -> None:
        """Show one of the ways: ``hang``, ``dimensions`` or ``typed``."""
        if way in KNOWN_FROM:
            self._way = way
            self.follow()

    def add_spring(self) -> None:
        """Add a spring."""
        add_springs(self.bench, (TraySpring(),), translate("springs", "Add a spring"))

    def state_typed(self) -> None:
        """Say that the figures are typed."""
        name = translate("springs", "State that the figures are typed")
        path = ("springs", self.bench.row, "source", "known_from")
        self.tray.edit(name, path, "typed")
