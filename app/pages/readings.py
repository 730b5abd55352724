"""Sessions of readings: with what, and what was shown."""

from __future__ import annotations

from dataclasses import replace
from typing import cast

from PySide6.QtCore import Qt
from PySide6.QtGui import QHideEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QWidget

from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.app.editors.take_table import docket_taker
from bobweight.app.guard import guarded
from bobweight.app.messages.figures import session_title, taken_text
from bobweight.app.messages.misreadings import slip_sentences
from bobweight.app.pages.compare_box import CompareBox
from bobweight.app.pages.comparison import ComparisonView
from bobweight.app.pages.page import Page
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow, button, in_row, stacked
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.plain import PlainLabel, RichLabel, escaped, set_tip
from bobweight.app.widgets.print_button import PrintButton
from bobweight.app.widgets.words import Links
from bobweight.app.words import translate, unbroken
from bobweight.core.docket.guesses import guess_directions
from bobweight.core.docket.history import without_session
from bobweight.core.docket.readings import Instrument, Reading, Session
from bobweight.core.docket.states import newest_state, state_of
from bobweight.core.problems import Path, required
from bobweight.core.record import Record, get, put

_HISTORY_KEYS = (
    "date", "what", "amount", "unit", "before_session", "after_session", "note",
)  # fmt: skip
_AT_THE_SHAFT = dict.fromkeys(("static_deg", "mark_error_deg", "u_angle_deg"), "angle_deg")
_AT_THE_SHAFT |= {"u_speed_rpm": "speed_rpm"}
_KEYS = ("speed_rpm", "angle_deg", "direction", "depression_kpa", "left_out", "note")


class ReadingsPage(Page):
    """One session of readings at a time."""

    key = "readings"
    roots = (("sessions",), ("history",), ("states",))

    def build(self) -> None:
        store, display = self.store, self.display
        self.cautions = CautionBox(display)
        self.add_group("", self.cautions)
        self.cautions.button.toggled.connect(self.sections.fit_soon)  # the table has their room
        self._index = display.session_index(store.docket)
        self._guesses: tuple[tuple[Reading, ...], list[str]] = ((), [])
        self.timing_button = button(
            translate("pages", "Timing-light session"),
            translate("pages", "Type at the running engine: large figures, no mouse (F9)."),
            self._ask_timing,
        )
        self.blank_button = PrintButton(
            "session", translate("pages", "Print a blank sheet…"),
            translate("pages", "The check speeds with room for three readings each way."),
        )  # fmt: skip
        self.body.addWidget(in_row(self.timing_button, self.blank_button))
        self.decisions = self.feed.decisions
        self.decisions.serve(self, self.key)
        self.decisions.changed.connect(self._slips_changed)
        self.body.addWidget(self._session_bar())
        self.body.addWidget(self._state_bar())
        self.body.addWidget(self._compare_bar())
        self._session_box = QWidget()
        stacked(self._session_box, spacing=12)
        self.body.addWidget(self._session_box)
        self._forms: list[tuple[Form, Path]] = []
        self.table: RecordTable | None = None
        self.comparison = ComparisonView(self.store, self.feed, display)
        self.history = RecordTable(
            store, ("history",), _HISTORY_KEYS, display,
            wraps=True, name=translate("pages", "Alterations made"),
        )  # fmt: skip
        said = PlainLabel(
            translate(
                "pages",
                "What was altered between the sessions, for the sheet. Before and after: their "
                "numbers; the first is 1.",
            )
        )
        said.setWordWrap(True)
        set_role(said, "faint")
        self.add_group(translate("pages", "Alterations made"), said, self.history)

    def _fill_session(self) -> None:
        """The forms and the table, once there is a session to show."""
        store, display, path = self.store, self.display, ("sessions", self._index)
        box = self._session_box.layout()
        instrument = (*path, "instrument")
        self._forms = [
            (Form(Session, path, ("title", "date"), store, display, ("title",)), ()),
            (Form(Instrument, instrument, plain_keys(Instrument), store, display), ("instrument",)),
        ]
        taker = docket_taker("readings", store, display, self._index)
        self.table = RecordTable(
            store, (*path, "readings"), _KEYS, display, take=taker.paste,
            blank=self._blank, hint=self._guess, unit_note=self._note,
            name=translate("pages", "Readings"),
        )  # fmt: skip
        self.guess_button = QPushButton(translate("pages", "Take the guessed directions"))
        self.guess_button.clicked.connect(self.take_guesses)
        self.summary = RichLabel()
        self.summary.setWordWrap(True)
        set_role(self.summary, "faint")
        self.summary.linkActivated.connect(self._to_instruments)
        self.slips = Links("advice")
        self.slips.linkActivated.connect(self._to_reading)
        for title, widgets in (
            (
                translate("pages", "The readings"),
                (self.summary, self.table, self.slips, self.guess_button),
            ),
            (translate("pages", "Check points"), (self.comparison,)),
            (
                translate("pages", "Session and instruments"),
                tuple(made for made, _ in self._forms),
            ),
        ):
            part = self.add_group(title, *widgets)
            if self.table in widgets:
                self.sections.main = part
            required(box).addWidget(part)

    def _session_bar(self) -> QWidget:
        bar = QWidget()
        layout = QHBoxLayout(bar)
        layout.setContentsMargins(0, 0, 0, 0)
        self.session_box = QuietComboBox(10, Qt.TextElideMode.ElideMiddle)  # a date ends it
        self.session_box.setPlaceholderText(translate("pages", "No session yet"))
        self.session_box.setAccessibleName(translate("pages", "Session shown"))
        self.session_box.activated.connect(self._chosen)
        self.add_button = button(
            translate("pages", "Add session"),
            translate("pages", "A new set of readings, after an alteration, say."),
            self.add_session,
        )
        self.remove_button = QPushButton(translate("pages", "Remove"))
        self.remove_button.setAccessibleName(translate("pages", "Remove this session"))
        self.remove_button.clicked.connect(self.remove_session)
        layout.addWidget(self.session_box, 1)
        layout.addWidget(self.add_button)
        layout.addWidget(self.remove_button)
        return bar

    def _ask_timing(self) -> None:
        self.timing_asked.emit()

    def _state_bar(self) -> QWidget:
        self._state = QWidget()
        layout = QHBoxLayout(self._state)
        layout.setContentsMargins(0, 0, 0, 0)
        self.state_box = QuietComboBox(10)
        self.state_box.activated.connect(self._state_chosen)
        label = PlainLabel(translate("pages", "Read from the unit"))
        label.setBuddy(self.state_box)
        tip = translate(
            "pages",
            "The state of the unit when these readings were taken. An alteration begins another; "
            "a corrected measurement holds for all of them.",
        )
        set_tip(label, tip)
        set_tip(self.state_box, tip)
        layout.addWidget(label)
        layout.addWidget(self.state_box, 1)
        return self._state

    def _compare_bar(self) -> QWidget:
        self._compare = QWidget()
        layout = QHBoxLayout(self._compare)
        layout.setContentsMargins(0, 0, 0, 0)
        self.compare_box = CompareBox(self.store, self.display)
        label = PlainLabel(translate("pages", "Compare with"))
        label.setBuddy(self.compare_box)
        layout.addWidget(label)
        layout.addWidget(self.compare_box, 1)
        return self._compare

    # Following ------------------------------------------------------------------------------

    @classmethod
    def state_of(cls, feed) -> str:
        sessions = feed.outcome.docket.sessions
        if not any(session.readings for session in sessions):
            return "empty"
        return cls.state_of_filled(feed)

    @classmethod
    def wanting(cls, feed) -> bool:
        """True while a reading that counts lacks its speed or its angle."""
        outcome = feed.outcome
        lacking = (p.path[:-1] for p in outcome.problems if p.code == "reading-incomplete")
        return any(not get(outcome.docket, path).left_out for path in lacking)

    def follow(self) -> None:
        super().follow()
        docket = self.store.docket
        sessions = docket.sessions
        self._rebind()
        self.session_box.clear()
        self.session_box.addItems([session_title(docket, i) for i in range(len(sessions))])
        self.session_box.setCurrentIndex(self._index)
        allow(self.remove_button, bool(sessions), translate("pages", "There is no session yet."))
        self._compare.setVisible(len(sessions) > 1)
        self._show_states()
        self.compare_box.follow()
        if sessions:
            session = sessions[self._index]
            rig = session.instrument.kind_taken == "rig"
            self.cautions.show_act("rig" if rig else "engine")
            self.summary.setText(self._summary(session) + self._pooled_words())
            self._guesses = ((), [])
            self.guess_button.setVisible(self._guesses_something(session.readings))
            self._show_slips()
            required(self.table).model.show_again()
            self._show_shafts()
        else:
            self.cautions.show_act("engine")

    def _show_shafts(self) -> None:
        """What the instrument reads is counted at the shaft that it looks at."""
        for made, _ in self._forms:
            for key, field in made.fields.items():
                if key in _AT_THE_SHAFT:
                    cast(NumberField, field).tell_unit(self._note(_AT_THE_SHAFT[key]))

    def _show_states(self) -> None:
        """The states of the unit, and the one of the session shown."""
        docket = self.store.docket
        self._state.setVisible(bool(docket.states and docket.sessions))
        self.state_box.blockSignals(True)
        self.state_box.clear()
        self.state_box.addItem(translate("pages", "as found"))
        for number, state in enumerate(docket.states, start=1):
            title = state.title or translate("pages", "alteration {number}").format(number=number)
            self.state_box.addItem(translate("pages", "after: {title}").format(title=title))
        self.state_box.setCurrentIndex(state_of(docket, self._index) if docket.sessions else -1)
        self.state_box.blockSignals(False)

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.decisions.want(self.key, ("next", "slips"))

    @guarded
    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.decisions.leave(self.key)

    def _slips_changed(self) -> None:
        if self.table is not None and self.isVisible() and self._session() is not None:
            self._show_slips()
            self.table.model.show_again()

    def _slip_rows(self) -> frozenset[int]:
        """Rows of readings that look like misreadings, by the decision if there is one."""
        found = self.decisions.current
        return frozenset() if found is None else frozenset(slip.row for slip in found.slips)

    def _show_slips(self) -> None:
        """What looks like a misreading; till it is known anew, its room is kept, or the table
        would grow and shrink with every edit."""
        found, room = self.decisions.current, self.slips.sizePolicy()
        room.setRetainSizeWhenHidden(found is None and bool(self.slips.text()))
        self.slips.setSizePolicy(room)
        if found is None:
            self.slips.hide()
            return
        show = translate("pages", "Show")
        lines = [(f"△ {text}", show, str(row)) for text, row in slip_sentences(found.slips)]
        self.slips.show_lines(lines)

    def _to_reading(self, row: str) -> None:
        self.focus_path(("sessions", self._index, "readings", int(row), "angle_deg"))

    def _summary(self, session: Session) -> str:
        """With what the readings are taken, in a line, with a way to alter it."""
        instrument = session.instrument
        text = translate(
            "pages",
            "{kind}, static {static}, speed read to {speed}, angle to {angle}.",
        ).format(
            kind=taken_text(instrument, "kind"),
            static=taken_text(instrument, "static_deg"),
            speed=taken_text(instrument, "u_speed_rpm", before="±\u00a0"),
            angle=taken_text(instrument, "u_angle_deg", before="±\u00a0"),
        )
        return f'{escaped(unbroken(text))} <a href="#">{escaped(translate("pages", "Alter"))}</a>'

    def _pooled_words(self) -> str:
        """How a long session is judged; empty for one that is judged reading by reading."""
        shown = self.feed.outcome.reduced.shown
        if not shown.members:
            return ""
        text = translate(
            "pages",
            "The {count} readings are judged as {pools} means by speed, direction and depression, "
            "with their scatter. What was read stays as it is.",
        )
        return "<br>" + escaped(text.format(count=int(shown.count.sum()), pools=len(shown.count)))

    def _to_instruments(self, _link: str) -> None:
        self.focus_path(("sessions", self._index, "instrument", "kind"))

    def _rebind(self) -> None:
        index = self.display.session_index(self.store.docket)
        self._session_box.setVisible(index >= 0)
        moved, self._index = index != self._index, index
        if index < 0:
            return
        if self.table is None:
            self._fill_session()
        elif moved or self.table.model.path[1] != index:
            for made, rest in self._forms:
                made.set_prefix(("sessions", index, *rest))
            self.table.model.set_path(("sessions", index, "readings"))

    def focus_path(self, path: Path) -> bool:
        """As of the page, in the session that the path leads into."""
        if len(path) > 1 and path[0] == "sessions":
            self.display.session = int(path[1])
            self._rebind()
        return super().focus_path(path)

    def _state_chosen(self, state: int) -> None:
        if self._session() is not None:
            name = translate("pages", "State of the unit")
            self.store.edit(name, ("sessions", self._index, "state"), state)

    def _chosen(self, index: int) -> None:
        self.display.session = index

    # Acts -----------------------------------------------------------------------------------

    def add_session(self) -> None:
        """Add a session taken with the same instruments, and show it."""
        sessions = self.store.docket.sessions
        number = len(sessions) + 1
        title = (
            translate("pages", "As found")
            if not sessions
            else translate("pages", "Session {number}").format(number=number)
        )
        like = self._session() or (sessions[-1] if sessions else None)
        instrument = Instrument() if like is None else like.instrument
        state = newest_state(self.store.docket)
        new = Session(title=title, state=state, instrument=instrument)
        docket = put(self.store.docket, ("sessions",), (*sessions, new))
        self.store.replace(translate("pages", "Add session"), docket)
        self.display.session = len(sessions)

    def add_another(self) -> None:
        self.add_session()

    def remove_session(self) -> None:
        """Take the session shown out."""
        docket, index = self.store.docket, self._index
        if self._session() is None:
            return  # or taken back, and the page has not followed yet
        title = docket.sessions[index].title
        name = translate("pages", "Remove session {title}").format(title=title)
        self.display.compared = None  # the others move up
        self.store.replace(name, without_session(docket, index))

    def take_guesses(self) -> None:
        """Write the guessed directions into the readings, as one edit."""
        session = self._session()
        readings = () if session is None else session.readings
        guesses = self._directions(readings)
        taken = tuple(
            replace(reading, direction=guess) if reading.direction == "unknown" else reading
            for reading, guess in zip(readings, guesses, strict=True)
        )
        if taken == readings:
            return
        path = ("sessions", self._index, "readings")
        name = translate("pages", "Take the guessed directions")
        self.store.replace(name, put(self.store.docket, path, taken))

    def _session(self) -> Session | None:
        """The session shown; None if there is none (any more)."""
        sessions = self.store.docket.sessions
        return sessions[self._index] if 0 <= self._index < len(sessions) else None

    # For the table --------------------------------------------------------------------------

    def _directions(self, readings: tuple[Reading, ...]) -> list[str]:
        if self._guesses[0] is not readings:
            speeds = [reading.speed_rpm for reading in readings]
            self._guesses = (readings, guess_directions(speeds))
        return self._guesses[1]

    def _guesses_something(self, readings: tuple[Reading, ...]) -> bool:
        """Whether a direction that is not known can be guessed."""
        unknown = [row for row, reading in enumerate(readings) if reading.direction == "unknown"]
        return any(self._directions(readings)[row] != "unknown" for row in unknown)

    def _guess(self, row: int, key: str) -> str | None:
        """The guessed direction where none is stored, marked as a guess; that a figure is wanting
        where it would stand; in the note's column that a reading looks like a misreading."""
        session = self._session()
        readings = session.readings if session is not None else ()
        if row >= len(readings):
            return None
        tight = self.table is not None and self.table.is_tight
        if key == self._lacking(readings[row]):
            return translate("pages", "△\u2009none")
        if key == "note" and row in self._slip_rows():
            said, note = translate("pages", "△ looks like a misreading"), readings[row].note
            if tight:
                said = translate("pages", "misread?")
            return f"{said}; {note}" if note else said
        if key != "direction" or readings[row].direction != "unknown":
            return None
        return {
            "rising": translate("pages", "Rising ?"),
            "falling": translate("pages", "Falling ?"),
        }.get(self._directions(readings)[row], "?" if tight else None)

    @staticmethod
    def _lacking(reading: Reading) -> str:
        """Key of the figure that is wanting of a reading that has the rest, so that it is not used;
        empty for none."""
        if reading.left_out or (reading.speed_rpm is None) == (reading.angle_deg is None):
            return ""
        if reading.angle_deg is None:
            return "angle_deg"
        return "speed_rpm" if reading.depression_kpa is None else ""

    def _blank(self, _rows: tuple[Record, ...]) -> Reading:
        return Reading()

    def _note(self, key: str) -> str:
        """Unit of a column, with what it is counted at."""
        session = self._session()
        rig = session is not None and session.instrument.kind_taken == "rig"
        if key == "speed_rpm":
            if rig:
                return translate("pages", "dist. rev/min")
            return translate("pages", "engine rev/min")
        if key == "angle_deg":
            return translate("pages", "dist. °") if rig else translate("pages", "crank °")
        return ""
