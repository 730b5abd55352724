"""Weights, linkage, springs, stop and friction."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, QTimer
from PySide6.QtWidgets import QDialog, QPushButton, QWidget

from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.app.messages import spring_name
from bobweight.app.messages.blanks import assumed_text, table_assumed_text
from bobweight.app.messages.pasting import numbers_parser
from bobweight.app.pages.mechanism.cg_dialog import CgDialog
from bobweight.app.pages.mechanism.turn_dialog import TurnDialog
from bobweight.app.pages.page import Page
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.widgets.card import button, in_row, put_below, shorten, stacked
from bobweight.app.widgets.plain import set_tip
from bobweight.app.widgets.section import Section
from bobweight.app.widgets.words import words
from bobweight.app.words import lower_first, translate
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import (
    Linkage,
    Mechanism,
    OwnWeight,
    Spring,
    SwingPoint,
    Weights,
)
from bobweight.core.docket.states import with_rows
from bobweight.core.judgement.blanks import blanks
from bobweight.core.mechanics.linkage import linkage_class
from bobweight.core.mechanics.places import (
    as_distances,
    as_polar,
    by_distances,
    no_place_known,
    unused_places,
)
from bobweight.core.mechanics.remount import remounted, turned_back
from bobweight.core.mechanics.typical import USUAL_ROLES
from bobweight.core.problems import Path, required
from bobweight.core.record import parameters, put
from bobweight.core.units import SPRING_RATE

if TYPE_CHECKING:
    from bobweight.app.pages.mechanism.picture_dialog import PictureDialog

_MECHANISM = ("mechanism",)
_STOP = ("stop_deg", "stop_give_deg", "stop_rate_nmm_per_deg")
_LINKAGE = ("mechanism", "linkage")
_SPRINGS = ("mechanism", "springs")
_PLAIN = "distances"
_CARDS_AT_ONCE = 4
_OF_ONE_WEIGHT = ("mass_g", "pivot_radius_mm", "place_deg", "cg_mm", "rest_angle_deg")
_NOT_DONE = ("spring-pulls-forward", "stop-distance-off")


class SpringCard(Section):
    """One spring: its name, its fields, and a way to double it or take it out."""

    def __init__(self, page: MechanismPage, index: int) -> None:
        super().__init__(spring_name(page.store.docket, index), page)
        self._page = page
        self.index = index
        self.form: Form | None = None
        if index < _CARDS_AT_ONCE:
            self._fill()
        else:
            super().set_open(False)
        self.follow()

    def set_open(self, open_: bool) -> None:
        """As of a section; of many springs only those that are opened have their fields made."""
        if open_ and self.form is None:
            self._fill()
            self.follow()
            self._page.card_filled(self)
        super().set_open(open_)

    def height_of_content(self) -> int:
        """As of a section; one that has no fields yet will be about as high as the first."""
        first = self._page.first_card
        if self.form is None and first is not None and first.form is not None:
            return first.height_of_content()
        return super().height_of_content()

    def _fill(self) -> None:
        page, index = self._page, self.index
        self.double_button = QPushButton(translate("pages", "Copy"))
        self.double_button.clicked.connect(self._double)
        self.remove_button = QPushButton(translate("pages", "Remove"))
        self.remove_button.clicked.connect(self._remove)
        self.places_button = QPushButton()
        self.places_button.clicked.connect(self._other_places)
        self.mirror_button = button(
            translate("pages", "Mirror it"),
            translate(
                "pages",
                "This spring would pull the cam forward: put its peg on the other "
                "side of its post.",
            ),
            self._mirror,
        )
        keys = [key for key in plain_keys(Spring) if key != "given_by"]
        self.form = Form(Spring, (*_SPRINGS, index), keys, page.store, page.display)
        self.form.fields["post_on"].along = self._with_post_on
        self.form.fields["peg_on"].along = self._with_peg_on
        self.body.addWidget(self.form)
        self.body.addWidget(
            in_row(self.mirror_button, self.places_button, self.double_button, self.remove_button)
        )

    def numbers(self) -> list[NumberField]:
        """Its number fields, as far as they are made."""
        fields = () if self.form is None else self.form.fields.values()
        return [field for field in fields if isinstance(field, NumberField)]

    def follow(self) -> None:
        """The role may have changed the name."""
        name = spring_name(self._page.store.docket, self.index)
        self.set_title(name)
        if self.form is None:
            return
        self.double_button.setAccessibleName(
            translate("pages", "Add a copy of {spring}").format(spring=name)
        )
        set_tip(
            self.double_button,
            translate("pages", "Add another spring like this one (one on each weight, say)."),
        )
        self.remove_button.setAccessibleName(
            translate("pages", "Remove {spring}").format(spring=name)
        )
        mechanism = self._page.store.docket.mechanism
        spring = mechanism.springs[self.index]
        self.form.show_only(_shown_of(spring, mechanism.weights.count_taken))
        plain = by_distances(spring)
        self.places_button.setText(
            translate("pages", "By angles") if plain else translate("pages", "By distances")
        )
        set_tip(
            self.places_button,
            translate("pages", "Give the places by radius and angle instead.")
            if plain
            else translate("pages", "Give the places by distances between shaft, post and peg."),
        )
        self.places_button.setVisible(plain or by_distances(spring.with_changes(given_by=_PLAIN)))
        wrong = self._page.feed.outcome.problems_at(*_SPRINGS, self.index)
        forward = any(p.code == "spring-pulls-forward" for p in wrong)
        self.mirror_button.setVisible(forward and turned_back(mechanism, self.index) is not None)

    def _with_post_on(self, docket: Docket, body: str) -> Docket:
        return self._with_mounting(docket, post_on=body)

    def _with_peg_on(self, docket: Docket, body: str) -> Docket:
        return self._with_mounting(docket, peg_on=body)

    def _with_mounting(self, docket: Docket, **bodies: str) -> Docket:
        made = remounted(docket.mechanism, self.index, **bodies)
        return put(docket, (*_SPRINGS, self.index), made)

    def _other_places(self) -> None:
        self._page.change_places(self.index)

    def _mirror(self) -> None:
        self._page.mirror_spring(self.index)

    def _remove(self) -> None:
        self._page.remove_spring(self.index)

    def _double(self) -> None:
        self._page.double_spring(self.index)


class MechanismPage(Page):
    """The centrifugal mechanism as measured."""

    key = "mechanism"
    roots = (_MECHANISM,)

    def build(self) -> None:
        store, display = self.store, self.display
        self.typical_button = button(
            translate("pages", "Start from a typical mechanism…"),
            translate("pages", "Pictures of the usual kinds; nothing of them counts as measured."),
            self.open_typical,
        )
        put_below(self.body, self.typical_button)
        self._weights_form = Form(
            Weights, (*_MECHANISM, "weights"), plain_keys(Weights), store, display
        )
        self.outline_button = button(
            translate("pages", "Centre of gravity…"),
            translate(
                "pages",
                "From the outline of a weight, or by hanging it twice or balancing it on an "
                "edge; points are typed, or marked on a photograph.",
            ),
            self.open_outline,
        )
        self.picture_button = button(
            translate("pages", "Measure off a picture…"),
            translate(
                "pages", "Distances and angles from one photograph or scan of the open unit."
            ),
            self.open_picture,
        )
        put_below(self.body, self.picture_button)
        self.body.addWidget(Form(Mechanism, _MECHANISM, ("measured_off",), store, display))
        self._each = RecordTable(
            store, (*_MECHANISM, "weights", "each"), _OF_ONE_WEIGHT, display,
            parse=numbers_parser(OwnWeight, ("mass_g",), display),
            name=translate("pages", "Weights that differ"),
        )  # fmt: skip
        self._each_linked = RecordTable(
            store, (*_MECHANISM, "weights", "each"), ("ratio",), display,
            name=translate("pages", "Weights that differ: the linkage of each"),
        )  # fmt: skip
        for table in (self._each, self._each_linked):
            table.setVisible(False)
        self.unlike_button = button(
            translate("pages", "The weights are not alike…"),
            translate("pages", "A row for each weight, in order; what is blank is as above."),
            self.part_weights,
        )
        self._weights = self.add_group(
            translate("pages", "Weights"), self._weights_form, self.outline_button,
            self.unlike_button, self._each,
        )  # fmt: skip
        self._linkage = Form(Linkage, _LINKAGE, plain_keys(Linkage), store, display)
        self._points: dict[str, RecordTable] = {}
        for measured_as, column in (("swing", "swing_deg"), ("radius", "radius_mm")):
            table = RecordTable(
                store, (*_LINKAGE, "points"), ("cam_deg", column), display,
                parse=numbers_parser(SwingPoint, ("cam_deg", column), display),
                name=translate("pages", "Measured points of the linkage"),
            )  # fmt: skip
            self._points[measured_as] = table
        self._table_assumed = words(role="faint")
        self.turn_button = button(
            translate("pages", "Angles from distances…"),
            translate(
                "pages",
                "Turn of the cam and swing of a weight from the distance between two points, at "
                "rest and out.",
            ),
            self.open_turn,
        )
        self.add_group(
            translate("pages", "Linkage"), self._linkage, self._each_linked,
            *self._points.values(), self._table_assumed, self.turn_button,
        )  # fmt: skip
        self._springs = QWidget()
        self._cards_layout = stacked(self._springs, spacing=12)
        self._cards: list[SpringCard] = []
        self._more_cards = QTimer(self, singleShot=True)
        self._more_cards.timeout.connect(self._make_more_cards)
        self.body.addWidget(self._springs)
        self.add_spring_button = QPushButton(self._adding())
        self.add_spring_button.clicked.connect(self.add_spring)
        self._no_springs = words(role="faint")
        self.body.addWidget(self._no_springs)
        put_below(self.body, self.add_spring_button)
        self.add_group(
            translate("pages", "Stop"), Form(Mechanism, _MECHANISM, _STOP, store, display)
        )
        friction = ("heel_drag_nmm", "stick_nmm", "grip")
        self.add_group(
            translate("pages", "Friction"), Form(Mechanism, _MECHANISM, friction, store, display)
        )
        self._numbers = self.findChildren(NumberField)  # Qt looks through the whole page for them

    @classmethod
    def state_of_filled(cls, feed: OutcomeFeed) -> str:
        """``wrong`` too where by table and readings one of the figures cannot be right."""
        return "wrong" if feed.decisions.doubts is not None else super().state_of_filled(feed)

    @classmethod
    def wanting(cls, feed: OutcomeFeed) -> bool:
        """A spring that pulls the cam forward, or is not as long at the stop as it was measured, is
        not done."""
        return any(p.code in _NOT_DONE for p in cls.problems_of(feed))

    def follow(self) -> None:
        super().follow()
        mechanism = self.store.docket.mechanism
        linkage = linkage_class(mechanism)
        measured = mechanism.linkage.kind == "measured"
        lies = ("lies",) if mechanism.linkage.kind in ("constant", "measured") else ()
        needs = ("kind", *linkage.needs, *lies, *(("measured_as",) if measured else ()))
        self._linkage.show_only(needs)
        self._weights.setVisible(bool(linkage.weight_needs))
        blank = any(getattr(mechanism.weights, key) is None for key in linkage.weight_needs)
        keys = [key for key in plain_keys(Weights) if key != "build" or blank]
        self._weights_form.show_only(keys)
        for measured_as, table in self._points.items():
            table.setVisible(measured and mechanism.linkage.measured_as == measured_as)
        own = [key for key in linkage.needs if key in parameters(OwnWeight)]
        unlike = bool(mechanism.weights.each)
        self._each.setVisible(unlike)
        if own:
            self._each_linked.show_columns(own)
        self._each_linked.setVisible(unlike and bool(own))
        self.unlike_button.setVisible(not unlike and mechanism.weights.count_taken > 1)
        self._match_cards(len(mechanism.springs))
        self._show_blanks()

    def _show_blanks(self) -> None:
        """What is assumed of each field left blank, and of springs that are not entered."""
        found = blanks(self.store.docket)
        for field in (*self._numbers, *(f for card in self._cards for f in card.numbers())):
            field.show_blank(found.get(field.path))
        self._table_assumed.show_text(table_assumed_text(found))
        said = ""
        if found and not self.store.docket.mechanism.springs:
            text = translate(
                "pages", "No spring is entered: a primary of {primary} and a secondary of "
                "{secondary} are assumed.",
            )  # fmt: skip
            first, second = (
                assumed_text(found[(*_SPRINGS, i, "rate_n_per_mm")], SPRING_RATE, self.display)
                for i in (0, 1)
            )
            said = text.format(primary=first, secondary=second)
        self._no_springs.show_text(said)
        self.add_spring_button.setText(self._adding())

    def _match_cards(self, count: int) -> None:
        shorten(self._cards_layout, self._cards, count)
        self._make_cards(min(count, len(self._cards) + _CARDS_AT_ONCE))
        for card in self._cards:
            card.follow()
        self._springs.setVisible(count > 0)
        if len(self._cards) < count:
            self._more_cards.start()

    def _make_more_cards(self) -> None:
        """One card more a turn of the loop, so that many springs do not hold the window up."""
        count = len(self.store.docket.mechanism.springs)
        self._make_cards(min(count, len(self._cards) + 1))
        if len(self._cards) < count:
            self._more_cards.start()

    def focus_path(self, path: Path) -> bool:
        if path[:2] == _SPRINGS and len(path) > 2 and isinstance(path[2], int):
            count = len(self.store.docket.mechanism.springs)
            self._make_cards(min(count, path[2] + 1))
            if path[2] < len(self._cards):
                self._cards[path[2]].set_open(True)
        return super().focus_path(path)

    def _make_cards(self, count: int) -> None:
        while len(self._cards) < count:
            card = SpringCard(self, len(self._cards))
            self._cards.append(card)
            self._cards_layout.addWidget(card)
            card.show()  # now, not at the next turn of the loop: the keyboard is to go there
            self._put_in_tab_order(card)

    @property
    def first_card(self) -> SpringCard | None:
        """The first spring's."""
        return next(iter(self._cards), None)

    def card_filled(self, card: SpringCard) -> None:
        """The fields of a spring are made: what is assumed of them, and their place for Tab."""
        before: QWidget = required(card.heading)
        for widget in card.content.findChildren(QWidget):
            if widget.window() is card.window() and _takes_tab(widget):
                QWidget.setTabOrder(before, widget)
                before = widget
        self._show_blanks()

    def _put_in_tab_order(self, card: SpringCard) -> None:
        """A card made late stands before the button below it for the keyboard too."""
        before = required(self.add_spring_button.previousInFocusChain())
        while before is not self.add_spring_button and not _takes_tab(before):
            before = required(before.previousInFocusChain())
        for widget in card.findChildren(QWidget):
            inside = widget.window() is card.window()  # the list of a choice is a window itself
            if inside and _takes_tab(widget):
                QWidget.setTabOrder(before, widget)
                before = widget

    def open_typical(self) -> QDialog:
        """Open the pictures of typical mechanisms."""
        from bobweight.app.pages.mechanism.typical_dialog import TypicalDialog

        dialog = TypicalDialog(self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.asked.connect(self.start_from)
        dialog.open()
        return dialog

    def part_weights(self) -> None:
        """A row for each weight, to be told apart."""
        weights = self.store.docket.mechanism.weights
        rows = tuple(OwnWeight() for _ in range(weights.count_taken))
        path = (*_MECHANISM, "weights", "each")
        name = translate("pages", "Weights that differ")
        self.store.replace(name, put(self.store.docket, path, rows))

    def start_from(self, mechanism: Mechanism, words: str) -> None:
        """Take the parts and mountings of a typical mechanism; its sizes stay unknown."""
        name = translate("pages", "Start from: {words}").format(words=lower_first(words))
        self.store.replace(name, put(self.store.docket, _MECHANISM, mechanism))
        self.focus_path((*_MECHANISM, "weights", "mass_g"))

    def open_outline(self) -> CgDialog:
        """Open the dialog that works out the centre of gravity of a weight."""
        dialog = CgDialog(self.store, self.display, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
        return dialog

    def open_turn(self) -> TurnDialog:
        """Open the dialog that works out cam angle and swing from distances."""
        dialog = TurnDialog(self.store, self.display, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
        return dialog

    def open_picture(self) -> PictureDialog:
        """Open the window in which the mechanism is measured off a photograph."""
        from bobweight.app.pages.mechanism.picture_dialog import PictureDialog

        dialog = PictureDialog(self.store, self.display, self)
        dialog.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        dialog.open()
        return dialog

    def add_spring(self) -> None:
        """Add a spring of the first role not yet there; where none is entered, those assumed so
        far, or measuring one would make it the only one."""
        springs = self.store.docket.mechanism.springs
        there = {spring.role for spring in springs}
        more = [role for role in USUAL_ROLES if role not in there] or ["further"]
        given_by = springs[-1].given_by if springs else _PLAIN
        added = [Spring(role=role, given_by=given_by) for role in more[: 1 if springs else None]]
        self._put_springs(self._adding(), (*springs, *added))
        self.focus_path((*_SPRINGS, len(springs), "rate_n_per_mm"))

    def _adding(self) -> str:
        if self.store.docket.mechanism.springs:
            return translate("pages", "Add a spring")
        return translate("pages", "Enter the springs")

    def add_another(self) -> None:
        self.add_spring()

    def double_spring(self, index: int) -> None:
        """Add a copy after a spring."""
        docket = self.store.docket
        name = translate("pages", "Add a copy of {spring}").format(
            spring=lower_first(spring_name(docket, index))
        )
        rows = sorted((*range(len(docket.mechanism.springs)), index))
        self.store.replace(name, with_rows(docket, _SPRINGS, rows))

    def mirror_spring(self, index: int) -> None:
        """Put a spring's peg on the other side of its post, so that it holds the cam back."""
        mechanism = self.store.docket.mechanism
        made = turned_back(mechanism, index)
        if made is None:
            return
        name = translate("pages", "Mirror {spring}").format(
            spring=lower_first(spring_name(self.store.docket, index))
        )
        self._put_spring(name, index, made)

    def change_places(self, index: int) -> None:
        """Give a spring's places by distances instead of angles, or the other way about; what is
        known stays known. A spring of which no place is known yet goes along: both are measured in
        one way."""
        mechanism = self.store.docket.mechanism
        grave = any(p.grave for p in self.feed.outcome.problems_at("mechanism"))
        if by_distances(mechanism.springs[index]):
            name = translate("pages", "Places by angles")
            plain = mechanism.springs[index].with_changes(given_by="polar")
            made = plain if grave else as_polar(mechanism, index)
        else:
            name = translate("pages", "Places by distances")
            plain = mechanism.springs[index].with_changes(given_by=_PLAIN)
            made = plain if grave else as_distances(mechanism, index)
        before = mechanism.springs[index].given_by
        springs = [
            s.with_changes(given_by=made.given_by)
            if s.given_by == before and no_place_known(s) else s
            for s in mechanism.springs
        ]  # fmt: skip
        springs[index] = made
        self._put_springs(name, tuple(springs))
        self.focus_path((*_SPRINGS, index, "post_radius_mm"))  # the first that is asked otherwise

    def _put_spring(self, name: str, index: int, spring: Spring) -> None:
        springs = self.store.docket.mechanism.springs
        self._put_springs(name, (*springs[:index], spring, *springs[index + 1 :]))

    def remove_spring(self, index: int) -> None:
        """Take a spring out."""
        docket = self.store.docket
        name = translate("pages", "Remove {spring}").format(
            spring=lower_first(spring_name(docket, index))
        )
        rows = [row for row in range(len(docket.mechanism.springs)) if row != index]
        self.store.replace(name, with_rows(docket, _SPRINGS, rows))

    def _put_springs(self, name: str, springs: tuple[Spring, ...]) -> None:
        self.store.replace(name, put(self.store.docket, _SPRINGS, springs))


def _shown_of(spring: Spring, weights: int) -> list[str]:
    """The fields of a spring that its parts and the way its places are given ask for."""
    hidden = {"given_by", *unused_places(spring)}
    if not by_distances(spring):
        hidden |= {"peg_side", "peg_beside"}
    elif spring.peg_on == "cam":
        hidden.add("peg_beside")
    if not spring.hangs_on_weight or weights < 2:
        hidden.add("weight")
    return [key for key in plain_keys(Spring) if key not in hidden]


def _takes_tab(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
