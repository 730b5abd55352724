"""Editors of numbers: one parser, any unit typed, uncertainty beside the value."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from bobweight.app.editors.field import Field, wants_undo
from bobweight.app.editors.figure_edit import FigureEdit
from bobweight.app.guard import guarded
from bobweight.app.messages import edit_name, place_text
from bobweight.app.messages.blanks import assumed_figures
from bobweight.app.widgets.plain import PlainLabel, set_tip
from bobweight.app.words import (
    amount,
    help_text,
    translate,
    unit_text,
    usual_range,
    with_unit,
    written,
)
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.frames import reframed, said_frame
from bobweight.core.problems import BobweightError, Path, Problem
from bobweight.core.record import Parameter, get, put, put_uncertainty
from bobweight.core.units import (
    ANGLE,
    NUMBER,
    SPEED,
    Quantity,
    bare_uncertainty,
    has_uncertainty,
    parse,
    parse_with_uncertainty,
)

if TYPE_CHECKING:
    from bobweight.core.judgement.blanks import Blank

_WIDE_UNITS = ("dist. °", "crank °", "N·mm/°")  # what follows a unit stands in one line
_RELATIVE_STEP = 0.01  # of the value, where the parameter has no step of its own


def read(text: str, quantity: Quantity, symbol: str) -> float | None:
    """The stored value of what was typed; None for nothing typed.

    Raises
    ------
    BobweightError
        As :func:`core.units.parse`.
    """
    return parse(text, quantity, symbol) if text.strip() else None


def read_framed(
    text: str, parameter: Parameter, symbol: str, path: Path, docket: object
) -> float | None:
    """Likewise of a value that belongs to one shaft: "28 crank" lands converted where distributor
    degrees are kept, "36 with static" too.

    Raises
    ------
    BobweightError
        As :func:`read`; ``static-needed``.
    """
    plain, said = said_frame(text)
    own = _own_frame(parameter, path, docket)
    if not said or not own or not isinstance(docket, Docket):
        return read(text, parameter.quantity, symbol)
    value = read(plain, parameter.quantity, symbol)
    if value is None:
        return None
    ratio, static = docket.particulars.ratio_taken, docket.setting_up.static_deg
    return round(reframed(value, parameter.quantity is SPEED, said, own, ratio, static), 9)


def _own_frame(parameter: Parameter, path: Path, docket: object) -> str:
    """The frame in which a value is kept; empty for one that has none."""
    if parameter.quantity not in (ANGLE, SPEED):
        return ""
    if path[:1] == ("target",) and isinstance(docket, Docket):
        vacuum = "vacuum_points" in path
        return docket.target.vacuum_frame_taken if vacuum else docket.target.frame_taken
    return parameter.frame


class NumberField(Field):
    """A number in the unit shown, with its standard uncertainty where one may be stated."""

    def _build(self) -> None:
        self._gesture: object | None = None
        self._shown_text = self._shown_u_text = self._unit_told = ""
        self.edit = FigureEdit()
        self.edit.setFixedWidth(self.fontMetrics().horizontalAdvance("0") * 8 + 14)
        self.edit.setMaxLength(60)
        self.edit.installEventFilter(self)
        self.edit.returnPressed.connect(self.commit)
        self.unit_label = PlainLabel()
        widest = max(map(self.fontMetrics().horizontalAdvance, _WIDE_UNITS))
        self.unit_label.setMinimumWidth(widest + 1)
        self.row.addWidget(self.edit)
        self.row.addWidget(self.unit_label)
        self.u_edit: QLineEdit | None = None
        self._u_refused = False
        self.blank: Blank | None = None
        self._used: float | None = None
        self._blank_shown: tuple[object, ...] = ()
        self.edit.textChanged.connect(self._look_assumed)
        if self.parameter.uncertain:
            self._add_uncertainty()
        self.row.addStretch(1)

    def _add_uncertainty(self) -> None:
        self.row.addWidget(PlainLabel("±"))
        self.u_edit = FigureEdit()
        self.u_edit.setPlaceholderText(_not_stated())
        width = self.fontMetrics().horizontalAdvance(_not_stated()) + 18
        self.u_edit.setFixedWidth(width)
        self.u_edit.setMaxLength(40)
        self.u_edit.installEventFilter(self)
        self.u_edit.returnPressed.connect(self.commit_uncertainty)
        self.row.addWidget(self.u_edit)

    @property
    def symbol(self) -> str:
        """The unit shown."""
        return self.display.unit(self.parameter.quantity)

    @property
    def u(self) -> float | None:
        """The standard uncertainty stated, in the stored unit; None if not stated."""
        return get(self.store.docket, self.path[:-1]).u.get(self.path[-1])

    def _editor(self) -> QWidget:
        return self.edit

    # What is blank --------------------------------------------------------------------------

    def show_blank(self, blank: Blank | None) -> None:
        """What is assumed while nothing is typed, grey and in a broken frame; None for nothing. It
        stands behind the text and is never the field's own."""
        if not self.is_there:
            self.blank = blank
            return
        record = get(self.store.docket, self.path[:-1])  # a spring is called by its role
        shown = (blank, self.path, self.symbol, self.value, getattr(record, "role", None))
        if shown != self._blank_shown:  # it is asked of every field of a page at every edit
            self._blank_shown = shown
            self.blank = blank
            self._show_blank()

    def show_used(self, value: float | None) -> None:
        """What is used while nothing is typed, grey too and exact; None for nothing."""
        if value != self._used:
            self._used = value
            self._show_blank()

    def _show_blank(self) -> None:
        value, u = self._blank_texts()
        used = None if self.value is not None else self._used
        nothing = self.blank is not None and self.value is None and not value
        about = translate("editors", "≈ {number}").format(number=value) if value else ""
        about = translate("editors", "not known") if nothing else about
        if used is not None:
            about = written(used, self.parameter.quantity, self.symbol)
        self.edit.setPlaceholderText(self._assumed_text() or about)
        if self.u_edit is not None:
            if u and (self.blank is None or self.blank.usual):
                u = translate("editors", "{u} usual").format(u=u)
            self.u_edit.setPlaceholderText(u or _not_stated())
        self._look_assumed()
        if self.problem is None:
            self._say(None)
        else:
            self._describe()

    def _blank_texts(self) -> tuple[str, str]:
        """Value and uncertainty assumed in the unit shown, both as a reader needs them."""
        blank = self.blank
        if blank is None or blank.value is None or self.value is not None:
            return "", ""
        return assumed_figures(blank, self.parameter.quantity, self.symbol)

    def _assumed_text(self) -> str:
        """What most units have, of a value that nobody entered and of which no more is known; it
        stands in it, grey."""
        assumed = self.parameter.assumed
        if assumed is None or self.value is not None or (self.blank and self.blank.u):
            return ""
        return written(assumed, self.parameter.quantity, self.symbol)

    def blank_sentence(self) -> str:
        """That nothing is typed, and what is assumed instead; empty where something is."""
        if assumed := self._assumed_text():
            said = translate("editors", "Not entered: {number} assumed, as usual in the trade.")
            return said.format(number=with_unit(assumed, self.symbol))
        if self.blank is None or self.value is not None:
            return ""
        value, u = self._blank_texts()
        if not value:
            return translate("editors", "Blank: not known, and anything usual is allowed for.")
        if self.blank.usual:
            text = translate("editors", "Blank: about {figure} assumed, as usual in the trade.")
        else:
            text = translate("editors", "Blank: about {figure} assumed, to suit the other figures.")
        said = f"{value}\u00a0±\u00a0{u}" if u else value
        return text.format(figure=with_unit(said, self.unit_label.text()))

    def tell_unit(self, told: str) -> None:
        """The unit with the shaft, where that hangs on another value."""
        if told != self._unit_told:
            self._unit_told = told
            self.unit_label.setText(told)
            self._describe()

    def _look_assumed(self) -> None:
        """A field that shows what is assumed is framed otherwise than one that was typed in."""
        assumed = bool(self.edit.placeholderText()) and not self.edit.text()
        if bool(self.edit.property("assumed")) != assumed:
            self.edit.setProperty("assumed", assumed)
            self.edit.style().unpolish(self.edit)
            self.edit.style().polish(self.edit)
        if self.parameter.assumed is not None and not self.symbol and self.u_edit is None:
            self.unit_label.setText(translate("editors", "assumed") if assumed else "")

    def _show(self, value: float | None) -> None:
        quantity = self.parameter.quantity
        given = value != self.parameter.default
        self._shown_text = written(value, quantity, self.symbol, as_typed=given)
        if self.edit.text() != self._shown_text:
            entered = self.edit.hasFocus() and self.edit.selectedText() == self.edit.text()
            self.edit.setText(self._shown_text)
            if entered:  # what comes after the click that gave it the keyboard is typed over too
                self.edit.selectAll()
        self.unit_label.setText(self._unit_told or unit_text(self.parameter, self.symbol))
        if self.u_edit is not None:
            self._u_refused = False
            by_tab = self.display.tab_to_uncertainty  # passed over by Tab unless asked for
            policy = Qt.FocusPolicy
            self.u_edit.setFocusPolicy(policy.StrongFocus if by_tab else policy.ClickFocus)
            self._shown_u_text = written(self.u, quantity, self.symbol)
            self.u_edit.setText(self._shown_u_text)
        self._show_blank()

    def commit(self) -> bool:
        """Take the number, and its uncertainty. False if either was refused."""
        return super().commit() and self.commit_uncertainty()

    def uncommitted(self) -> str:
        u = self.u_edit.text() if self.u_edit is not None else ""
        typed = [self.edit.text()] if self.edit.text() != self._shown_text else []
        return " ± ".join([*typed, *([u] if u != self._shown_u_text else [])])

    def _in_editor(self) -> tuple[str | None, ...]:
        """Only what was typed: the figure beside it would be taken in another unit."""
        shown: list[tuple[QLineEdit, str]] = [(self.edit, self._shown_text)]
        if self.u_edit is not None:
            shown.append((self.u_edit, self._shown_u_text))
        return tuple(None if e.text() == text else e.text() for e, text in shown)

    def _retype(self, typed: tuple[str | None, ...]) -> None:
        for edit, text in zip((self.edit, self.u_edit), typed, strict=False):
            if edit is not None and text is not None:
                edit.setText(text)

    def _take(self) -> bool:
        if self.edit.text() == self._shown_text:
            if self.problem is not None and self.problem.grave and not self._u_refused:
                self.refresh()
            return True
        text = self.edit.text()
        value: float | None
        u: float | None = None
        try:
            if self.u_edit is not None and has_uncertainty(text):
                quantity = self.parameter.quantity
                value, u = parse_with_uncertainty(text, quantity, self.symbol)
            else:
                value = self._read(text)
        except BobweightError as error:
            self._say(error.problem)
            return False
        if value == self.value and u is None:
            self.refresh()
            return True
        if u is None:
            return self._put(value)
        return self._put_both(value, u)

    def _put_both(self, value: float | None, u: float) -> bool:
        """Take a value and its uncertainty, typed together, as one edit."""
        try:
            name = edit_name(self.path, self.store.docket, value, self.display)
            with_value = put(self.store.docket, self.path, value)
            self.store.replace(name, put_uncertainty(with_value, self.path, u))
        except BobweightError as error:
            self._say(error.problem)
            return False
        self.refresh()
        return True

    def _read(self, text: str) -> float | None:
        return read_framed(text, self.parameter, self.symbol, self.path, self.store.docket)

    def commit_uncertainty(self) -> bool:
        """Take the uncertainty typed: a number in any unit, or a share of the value ("5 %")."""
        if self.u_edit is None or self.u_edit.text() == self._shown_u_text or not self.is_there:
            return True
        text = bare_uncertainty(self.u_edit.text())
        try:
            if text.endswith("%") and self.value is not None:
                u: float | None = abs(self.value) * parse(text[:-1], NUMBER) / 100
            else:
                u = self._read(text)
            what = _not_stated() if u is None else amount(u, self.parameter.quantity, self.symbol)
            name = translate("editors", "{place} uncertainty {amount}").format(
                place=place_text(self.path, self.store.docket), amount=what
            )
            if u is not None and self._assumed_text():  # who says how sure says so much
                return self._put_both(self.parameter.assumed, u)
            self.store.state_uncertainty(name, self.path, u)
        except BobweightError as error:
            self._say(Problem(error.problem.code, self.path, error.problem.facts))
            self._u_refused = True
            return False
        self.refresh()
        return True

    def nudge(self, steps: float) -> None:
        """Step the value; steps made without leaving the field are one edit."""
        if not self.commit() or self.value is None:
            return
        size = self._step()
        low, high = self.parameter.hard
        value = min(max(round(self.value + steps * size, 10), low), high)
        if self._gesture is None:
            self._gesture = object()
        if value != self.value:
            self._put(value, self._gesture)
            self.edit.selectAll()

    def _step(self) -> float:
        """One step, in the stored unit: round in the unit shown."""
        factor = self.parameter.quantity.unit(self.symbol).factor
        if factor == 1.0 and self.parameter.nudge is not None:
            return self.parameter.nudge
        return float(f"{max(abs(self.value) / factor, 0.01) * _RELATIVE_STEP:.1g}") * factor

    def _tip(self) -> str:
        units = ", ".join(unit.symbol for unit in self.parameter.quantity.units if unit.symbol)
        parts = [self.blank_sentence(), help_text(self.parameter)]
        parts.append(usual_range(self.parameter, self.symbol))
        if "," in units:
            parts.append(translate("editors", "May be typed in {units}.").format(units=units))
        return "\n".join(part for part in parts if part)

    def _describe(self) -> None:
        super()._describe()
        place = self._place
        if self.symbol:
            self.edit.setAccessibleName(f"{place} ({self.unit_label.text()})")
        if self.u_edit is not None:
            name = translate("editors", "{place}, standard uncertainty").format(place=place)
            tip = translate(
                "editors",
                "Standard uncertainty: about two readings in three fall within it. A number in any "
                "unit, or a share such as 5 %. Leave it empty if you do not know.",
            )
            self.u_edit.setAccessibleName(name)
            self.u_edit.setAccessibleDescription(tip)
            set_tip(self.u_edit, tip)

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if wants_undo(event) and not self._typed():
            event.ignore()  # nothing typed to undo here: the window's undo takes it
            return True
        if event.type() == QEvent.Type.FocusOut:
            self._gesture = None
            if watched is self.edit:
                self.commit()
            else:
                self.commit_uncertainty()
        elif event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(watched, event)
        return super().eventFilter(watched, event)

    def _key(self, watched: QObject, event: QKeyEvent) -> bool:
        key = event.key()
        if key == Qt.Key.Key_Escape and self._typed():
            self.refresh()
            return True
        if watched is self.edit and key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            size = 10 if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1
            self.nudge(size if key == Qt.Key.Key_Up else -size)
            return True
        return False

    def _typed(self) -> bool:
        u_typed = self.u_edit is not None and self.u_edit.text() != self._shown_u_text
        return self.edit.text() != self._shown_text or u_typed


def _not_stated() -> str:
    return translate("editors", "not stated")


class WholeField(NumberField):
    """A count."""

    def _read(self, text: str) -> float | None:
        value = super()._read(text)
        return int(value) if value is not None and value == int(value) else value

    def nudge(self, steps: float) -> None:
        if not self.commit() or self.value is None:
            return
        low, high = self.parameter.hard
        value = int(min(max(self.value + steps, low), high))
        if self._gesture is None:
            self._gesture = object()
        if value != self.value:
            self._put(value, self._gesture)
