"""The session over the whole window: big figures, every act by a key and by a large button,
cautions first."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import (
    QAccessible,
    QAccessibleEvent,
    QFont,
    QKeyEvent,
    QPalette,
)
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QStackedLayout,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.field import wants_undo
from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.messages.cautions import caution_lines
from bobweight.app.messages.figures import taken_text
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role
from bobweight.app.timing_session.results import Results
from bobweight.app.timing_session.taking import Taking
from bobweight.app.timing_session.words import direction_text, reason_text, suggestion_text
from bobweight.app.widgets.plain import PlainLabel, application
from bobweight.app.widgets.words import AnswerLabel, note
from bobweight.app.words import translate
from bobweight.core.judgement.taking import Suggest, next_reading
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.units import ANGLE, DEPRESSION, SPEED, Quantity, parse

_FIELD_PT, _NEXT_PT, _TITLE_PT, _TEXT_PT, _KEYS_PT = 44.0, 64.0, 26.0, 18.0, 13.0
_SIZE_PX = (1366.0, 740.0)  # of the window for which the sizes are; others scale
_SCALE_RANGE = (0.7, 2.4)
_FIELDS = ("speed", "angle", "depression")
TARGET_PX = 44
"""What is pressed here is at least so high: with a glove, or a greasy finger."""


class TimingSession(QWidget):
    """Covers the widget it is given until Esc.

    Signals
    -------
    left()
        The session was left.
    """

    left = Signal()

    def __init__(
        self, store: Store, display: Display, feed: OutcomeFeed, over: QWidget,
        suggest: Suggest = next_reading,
    ) -> None:  # fmt: skip
        super().__init__(over)
        self.taking = Taking(store, display, suggest)
        self._store = store
        self._display, self._feed = display, feed
        self._over = over
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Window)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(translate("timing", "Timing-light session"))
        self.buttons: list[QPushButton] = []
        self._stack = QStackedLayout(self)
        self._stack.addWidget(self._cautions_page())
        self._stack.addWidget(self._entry_page())
        store.changed.connect(self.follow)
        display.changed.connect(self.follow)
        feed.decisions.changed.connect(self.results.follow)
        over.installEventFilter(self)
        application().focusChanged.connect(self._focus_moved)
        self._acts = {
            Qt.Key.Key_R.value: self.rising, Qt.Key.Key_F.value: self.falling,
            Qt.Key.Key_N.value: self.next_speed, Qt.Key.Key_V.value: self.turn_pipe,
        }  # fmt: skip

    # Building ---------------------------------------------------------------------------------

    def _cautions_page(self) -> QWidget:
        page = QWidget()
        layout = QVBoxLayout(page)
        layout.setContentsMargins(40, 24, 40, 24)
        layout.setSpacing(12)
        self._heading = PlainLabel(translate("timing", "Before the engine is started"))
        kind = self.taking.session.instrument.kind_taken
        lines = caution_lines("rig" if kind == "rig" else "engine")
        self.cautions = [note(f"△ {line}", "") for line in lines]
        for label in (self._heading, *self.cautions):
            label.setWordWrap(True)
            layout.addWidget(label)
        layout.addLayout(
            self._buttons(
                (translate("timing", "All of this is seen to  (Enter)"), self.acknowledge),
                (translate("timing", "Leave  (Esc)"), self.leave),
            )
        )
        layout.addStretch(1)
        return page

    def _buttons(self, *acts: tuple[str, Callable[[], None]]) -> QHBoxLayout:
        """Large buttons in a row, each naming its key; the keyboard stays in the fields."""
        row = QHBoxLayout()
        row.setSpacing(10)
        for text, act in acts:
            made = QPushButton(text)
            made.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            made.clicked.connect(act)
            row.addWidget(made)
            self.buttons.append(made)
        row.addStretch(1)
        return row

    def _entry_page(self) -> QWidget:
        page = QWidget()
        grid = QGridLayout(page)
        grid.setContentsMargins(32, 16, 32, 14)
        grid.setHorizontalSpacing(36)
        grid.setColumnStretch(0, 1)
        grid.setColumnStretch(1, 1)
        left = QVBoxLayout()
        left.setSpacing(6)
        self.pipe = PlainLabel()
        self.title = PlainLabel()
        set_role(self.title, "faint")
        self.title.setWordWrap(True)  # a long one takes no room from the results
        self.next_label = PlainLabel()
        self.reason = PlainLabel()
        self.reason.setWordWrap(True)
        left.addWidget(self.title)
        left.addWidget(self.next_label)
        left.addWidget(self.reason)
        left.addSpacing(10)
        left.addLayout(self._fields())
        self.direction = PlainLabel()
        self.said = AnswerLabel()
        left.addWidget(self.direction)
        left.addWidget(self.pipe)
        left.addWidget(self.said)
        left.addStretch(1)
        self.results = Results(self.taking, self._feed)
        buttons = self._buttons(
            (translate("timing", "Take  (Enter)"), self.take_typed),
            (translate("timing", "Next speed  (N)"), self.next_speed),
            (translate("timing", "Rising  (R)"), self.rising),
            (translate("timing", "Falling  (F)"), self.falling),
            (translate("timing", "Pipe on or off  (V)"), self.turn_pipe),
            (translate("timing", "Take back  (Ctrl+Z)"), self._store.undo_stack.undo),
            (translate("timing", "Leave  (Esc)"), self.leave),
        )
        grid.addLayout(left, 0, 0)
        grid.addWidget(self.results, 0, 1)
        grid.addLayout(buttons, 1, 0, 1, 2)
        grid.setRowStretch(0, 1)
        return page

    def _fields(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(12)
        grid.setColumnStretch(2, 1)
        self.edits: dict[str, QLineEdit] = {}
        self._labels: dict[str, tuple[QLabel, QLabel]] = {}
        names = {
            "speed": translate("timing", "Speed"),
            "angle": translate("timing", "Angle"),
            "depression": translate("timing", "Depression"),
        }
        for row, key in enumerate(_FIELDS):
            edit = QLineEdit()
            edit.setMaxLength(20)
            edit.setAccessibleName(names[key])
            edit.installEventFilter(self)
            label, unit = PlainLabel(names[key]), PlainLabel()
            label.setBuddy(edit)
            grid.addWidget(label, row, 0)
            grid.addWidget(edit, row, 1)
            grid.addWidget(unit, row, 2)
            self.edits[key] = edit
            self._labels[key] = (label, unit)
        self.edits["speed"].textChanged.connect(self._show_direction)
        self._show_pipe(False)
        return grid

    def _type_sizes(self) -> None:
        """Type as large as the window has room for, to be read at arm's length."""
        wanted = min(self.width() / _SIZE_PX[0], self.height() / _SIZE_PX[1])
        scale = min(max(wanted, _SCALE_RANGE[0]), _SCALE_RANGE[1])
        for edit in self.edits.values():
            _enlarge(edit, _FIELD_PT * scale)
            edit.setFixedWidth(edit.fontMetrics().horizontalAdvance("00000") + 30)
        texts = [*(label for pair in self._labels.values() for label in pair)]
        texts += [self.direction, self.pipe, self.reason, self.said, *self.cautions]
        for label in texts:
            _enlarge(label, _TEXT_PT * scale)
        _enlarge(self.next_label, _NEXT_PT * scale)
        _enlarge(self._heading, _TITLE_PT * scale)
        for words in (self.title, *self.buttons):
            _enlarge(words, _KEYS_PT * scale)
        for made in self.buttons:
            made.setMinimumHeight(max(round(TARGET_PX * scale), TARGET_PX))
        self.results.type_sizes(*(pt * scale for pt in (_TITLE_PT, _TEXT_PT, _KEYS_PT)))

    # Beginning and leaving ----------------------------------------------------------------------

    def begin(self) -> None:
        """Show the cautions; the entry comes once they are acknowledged."""
        self._stack.setCurrentIndex(0)
        self._fit()
        self.show()
        self.raise_()
        self.setFocus(Qt.FocusReason.OtherFocusReason)
        self.follow()

    @property
    def acknowledged(self) -> bool:
        """True once the cautions were acknowledged."""
        return self._stack.currentIndex() == 1

    def acknowledge(self) -> None:
        """The cautions are seen to: open the entry."""
        self.taking.begin()
        self._stack.setCurrentIndex(1)
        self.follow()
        self._focus("speed")

    def leave(self) -> None:
        """Uncover the window; what was typed and not taken is dropped."""
        application().focusChanged.disconnect(self._focus_moved)
        self._store.changed.disconnect(self.follow)
        self._display.changed.disconnect(self.follow)
        self._feed.decisions.changed.disconnect(self.results.follow)
        self._over.removeEventFilter(self)
        self.hide()
        self.left.emit()
        self.deleteLater()

    def _fit(self) -> None:
        self.setGeometry(self._over.rect())
        self._type_sizes()

    def _focus_moved(self, old: QWidget | None, new: QWidget | None) -> None:
        """Keep the keyboard: what lies below must not take what is typed at the engine, and a
        click beside the fields leaves it in the one that has it."""
        if new is self and self.acknowledged and isinstance(old, QLineEdit):
            old.setFocus(Qt.FocusReason.OtherFocusReason)
        if new is None or not self.isVisible() or new is self or self.isAncestorOf(new):
            return
        if self._over.isAncestorOf(new):
            self._focus("speed") if self.acknowledged else self.setFocus()

    # Following ----------------------------------------------------------------------------------

    def follow(self, _change: object = None) -> None:
        """The docket or the display changed."""
        if self.taking.is_gone:
            self.leave()
            return
        session = self.taking.session
        rig = session.instrument.kind_taken == "rig"
        self._labels["speed"][1].setText(
            translate("timing", "dist. rev/min") if rig else translate("timing", "engine rev/min")
        )
        self._labels["angle"][1].setText(
            translate("timing", "dist. °") if rig else translate("timing", "crank °")
        )
        self._labels["depression"][1].setText(self._display.depression_unit)
        self.title.setText(
            translate(
                "timing",
                "{title}, static {static}, reading {number}. Enter what the instrument shows.",
            ).format(
                title=session.title or translate("timing", "Session"),
                static=taken_text(session.instrument, "static_deg"),
                number=len(session.readings) + 1,
            )
        )  # fmt: skip
        suggestion = self.taking.suggestion()
        self.next_label.setText(suggestion_text(suggestion))
        self.next_label.setAccessibleName(
            translate("timing", "Next: {what}").format(what=suggestion_text(suggestion))
        )
        self.reason.setText(reason_text(suggestion))
        placeholder = "" if suggestion is None else f"{suggestion.speed_rpm:.0f}"
        self.edits["speed"].setPlaceholderText(placeholder)
        self.results.follow()
        self._show_direction()

    def _show_direction(self) -> None:
        try:
            speed = self._number("speed", SPEED)
        except BobweightError:
            speed = None
        direction = self.taking.direction(speed, 0.0 if self.pipe_on else None)
        guess = (
            translate("timing", "set by hand")
            if self.taking.forced
            else translate("timing", "a guess: R or F to change it")
        )
        self.direction.setText(f"{direction_text(direction)}   ({guess})")

    @property
    def pipe_on(self) -> bool:
        """True while readings with depression are typed."""
        return self._pipe_on

    def _show_pipe(self, on: bool) -> None:
        self._pipe_on = on
        words = translate("timing", "pipe on: centrifugal and vacuum   (V when it comes off)")
        off = translate("timing", "pipe off: centrifugal alone   (V when it goes on)")
        self.pipe.setText(words if on else off)
        self.edits["depression"].setVisible(on)
        for label in self._labels["depression"]:
            label.setVisible(on)

    # Keys -----------------------------------------------------------------------------------------

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if watched is self._over:
            if event.type() == QEvent.Type.Resize:
                self._fit()
            return False
        if wants_undo(event):
            event.ignore()  # a reading is taken back by the window's undo
            return True
        if event.type() == QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            key = next(k for k, edit in self.edits.items() if edit is watched)
            return self._key(key, event)
        return super().eventFilter(watched, event)

    @guarded
    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.leave()
        elif (
            not self.acknowledged
            and event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter)
            and not event.isAutoRepeat()
        ):
            self.acknowledge()
        else:
            event.accept()  # nothing typed here reaches what lies below

    @guarded
    def focusNextPrevChild(self, forward: bool) -> bool:
        """Tab goes round the fields that are shown."""
        if self.acknowledged:
            shown = [key for key in _FIELDS if key != "depression" or self.pipe_on]
            here = next((k for k in shown if self.edits[k].hasFocus()), shown[-1])
            self._focus(shown[(shown.index(here) + (1 if forward else -1)) % len(shown)])
        return True

    def _key(self, field: str, event: QKeyEvent) -> bool:
        key = event.key()
        if key == Qt.Key.Key_Escape:
            self.leave()
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if not event.isAutoRepeat():
                self._enter(field)
        elif event.modifiers() & ~Qt.KeyboardModifier.ShiftModifier:
            return False
        elif field == "depression" and self.edits[field].text():
            return False  # a unit may be typed here: 10 inHg
        elif key in self._acts:
            self._acts[key]()
        else:
            return False
        return True

    def rising(self) -> None:
        """The speed comes up, whatever is guessed; once more, and it is guessed again."""
        self._force("rising")

    def falling(self) -> None:
        """Likewise it comes down."""
        self._force("falling")

    def _force(self, direction: str) -> None:
        self.taking.forced = None if self.taking.forced == direction else direction
        self._show_direction()

    def next_speed(self) -> None:
        """Pass over the speed that is suggested."""
        self.taking.skip()
        self._clear()
        self.follow()

    def turn_pipe(self) -> None:
        """The pipe is put on, or taken off."""
        self._show_pipe(not self.pipe_on)
        self._focus("speed")
        self._show_direction()

    def take_typed(self) -> None:
        """Take the reading as it is typed."""
        self._enter("depression" if self.pipe_on else "angle")

    def _enter(self, field: str) -> None:
        """Enter goes on to the next field, and takes the reading at the last."""
        self._say(None)
        last = "depression" if self.pipe_on else "angle"
        try:
            if field == "speed":
                self._speed()
            elif field == "angle":
                self._needed("angle", ANGLE)
            if field != last:
                self._focus(_FIELDS[_FIELDS.index(field) + 1])
            else:
                self._take()
        except BobweightError as error:
            self._say(error.problem)
            self.edits[field].selectAll()

    def _take(self) -> None:
        symbol = self._display.depression_unit
        depression = self._needed("depression", DEPRESSION, symbol) if self.pipe_on else None
        self.taking.take(self._speed(), self._needed("angle", ANGLE), depression)
        self._clear()
        self.follow()
        last = self.results.last
        QAccessible.updateAccessibility(QAccessibleEvent(last, QAccessible.Event.Alert))

    def _clear(self) -> None:
        for edit in self.edits.values():
            edit.clear()
        self._say(None)
        self._focus("speed")

    def _number(self, key: str, quantity: Quantity, symbol: str | None = None) -> float | None:
        text = self.edits[key].text().strip()
        return parse(text, quantity, symbol) if text else None

    def _needed(self, key: str, quantity: Quantity, symbol: str | None = None) -> float:
        try:
            value = self._number(key, quantity, symbol)
        except BobweightError as error:
            raise BobweightError(
                error.problem.code, (_PLACES[key],), **error.problem.facts
            ) from None
        if value is None:
            raise BobweightError("missing", (_PLACES[key],))
        return value

    def _speed(self) -> float:
        """The speed typed; the suggested one where nothing is."""
        suggestion = self.taking.suggestion()
        if not self.edits["speed"].text().strip() and suggestion is not None:
            return float(round(suggestion.speed_rpm))
        return self._needed("speed", SPEED)

    def _say(self, problem: Problem | None) -> None:
        self.said.say(sentence(problem, None, self._display) if problem else "", "wrong")

    def _focus(self, key: str) -> None:
        self.edits[key].setFocus(Qt.FocusReason.OtherFocusReason)
        self.edits[key].selectAll()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        """Another theme has other colours."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ApplicationPaletteChange and hasattr(self, "results"):
            self.follow()


_PLACES = {"speed": "speed_rpm", "angle": "angle_deg", "depression": "depression_kpa"}


def _enlarge(widget: QWidget, points: float) -> None:
    """Give a widget larger type; a style sheet of its own outweighs the theme's."""
    font = QFont(widget.font())
    font.setPointSizeF(points)
    widget.setFont(font)
    widget.setStyleSheet(f"font-size: {points}pt")
