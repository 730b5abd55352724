"""The board: wires plots, plan view, speed and drags to the docket's outcome."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QMenu,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.board import drags, wording
from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.curves import CurvePlot
from bobweight.app.board.decision_series import capsule_layers, speed_layers, widened
from bobweight.app.board.drags import Grip
from bobweight.app.board.plan import PlanView
from bobweight.app.board.series import capsule_series, curve_series, on_branch
from bobweight.app.board.speed_bar import SpeedBar
from bobweight.app.guard import guarded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import BobweightError
from bobweight.core.units import DEPRESSION, store

if TYPE_CHECKING:
    from bobweight.app.board.total import TotalMap

FIRST_SPEED_SHARE = 0.6
"""Where the plan view stands at first: a share of the speed of full advance."""


class Board(QWidget):
    """Curves, capsule, total map and plan view of the open docket.

    Signals
    -------
    picked(path)
        A part, a check point or a reading was clicked: the path of its values in the docket.
    """

    picked = Signal(object)

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display,
                 parent: QWidget | None = None) -> None:  # fmt: skip
        super().__init__(parent)
        self._store, self._feed, self._display = store, feed, display
        self._speed_rpm: float | None = None
        self._pending: tuple | None = None
        self._gesture: object | None = None
        self._base: Docket | None = None
        self._menu_grip: Grip | None = None
        self._redraw_timer = self._timer(self.redraw)
        self._edit_timer = self._timer(self._apply_pending)
        self._build()
        self._connect()
        self.redraw_soon()  # not at once: what is to be shown is about to be opened

    def _timer(self, slot) -> QTimer:
        timer = QTimer(self)
        timer.setSingleShot(True)
        timer.setInterval(0)
        timer.timeout.connect(slot)
        return timer

    # Making

    def _build(self) -> None:
        self.caption = QLabel()
        self.caption.setWordWrap(True)
        self.caption.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.map_button = QPushButton(self.tr("Total map"))
        self.map_button.setCheckable(True)
        self.map_button.setToolTip(
            self.tr("Total advance at the crank over engine speed and depression")
        )
        self.curves = CurvePlot()
        self.upper = QStackedWidget()
        self.upper.addWidget(self.curves)
        self.plan = PlanView(wording.PartWords(self._display))
        self.speed_bar = SpeedBar()
        self.capsule = CapsulePlot()
        posed = QWidget()
        column = QVBoxLayout(posed)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        column.addWidget(self.plan, 1)
        column.addWidget(self.speed_bar)
        self.lower = QSplitter(Qt.Orientation.Horizontal)
        self.lower.addWidget(posed)
        self.lower.addWidget(self.capsule)
        self.speed_bar.keep_room(wording.speed_readout(18888.0, 88.8, "distributor"))
        self.lower.setSizes([600, 500])
        self.lower.setStretchFactor(0, 6)
        self.lower.setStretchFactor(1, 5)
        self.halves = QSplitter(Qt.Orientation.Vertical)
        self.halves.addWidget(self.upper)
        self.halves.addWidget(self.lower)
        self.halves.setSizes([1150, 1000])
        self.halves.setStretchFactor(0, 11)
        self.halves.setStretchFactor(1, 10)
        for splitter in (self.lower, self.halves):
            splitter.setChildrenCollapsible(False)
        self.upper.setMinimumHeight(230)
        self.lower.setMinimumHeight(200)
        self.capsule.setMinimumWidth(200)
        head = QHBoxLayout()
        head.setContentsMargins(10, 6, 10, 2)
        head.addWidget(self.caption, 1)
        head.addWidget(self.map_button)
        box = QVBoxLayout(self)
        box.setContentsMargins(0, 0, 0, 0)
        box.setSpacing(2)
        box.addLayout(head)
        box.addWidget(self.halves, 1)
        self.menu = QMenu(self)
        self.leave_out = QAction(self.tr("Leave this reading out"), self.menu)
        self.leave_out.setCheckable(True)
        self.delete = QAction(self.menu)
        self.menu.addAction(self.leave_out)
        self.menu.addAction(self.delete)

    def _connect(self) -> None:
        self._feed.changed.connect(self.redraw_soon)
        self._feed.overlay_changed.connect(self._show_overlay)
        self._feed.decisions.changed.connect(self._show_decision)
        self._feed.decisions.path_asked.connect(self.picked)
        self._display.changed.connect(self.redraw_soon)
        self.map_button.toggled.connect(self._map_toggled)
        for plot in (self.curves, self.capsule):
            plot.dragged.connect(self._dragged)
            plot.drag_ended.connect(self._drag_ended)
            plot.drag_given_up.connect(self._drag_given_up)
            plot.clicked.connect(self._clicked)
            plot.menu_asked.connect(self._menu_asked)
        self.curves.pointed.connect(self._pointed)
        self.speed_bar.moved.connect(self._pointed)
        self.speed_bar.turned.connect(self._turned)
        self.plan.picked.connect(self.picked)
        self.plan.bent.connect(self._bent)
        self.plan.stop_moved.connect(self._stop_moved)
        self.plan.drag_ended.connect(self._drag_ended)
        self.plan.drag_given_up.connect(self._drag_given_up)
        self.leave_out.triggered.connect(self._leave_out)
        self.delete.triggered.connect(self._delete)

    # Showing

    def redraw_soon(self) -> None:
        """Redraw once control is back at the event loop; several calls make one redraw."""
        self._redraw_timer.start()

    def redraw(self) -> None:
        """Show the present outcome in everything at once."""
        self._redraw_timer.stop()
        outcome, ghost = self._feed.outcome, self._feed.ghost_outcome
        docket, display = outcome.docket, self._display
        factor = display.factor(docket.particulars.drive_ratio)
        self._names = wording.spring_names(docket)
        axes = wording.axis_words(display.frame, display.depression_unit)
        series = widened(curve_series(outcome, ghost, factor), self._feed.other_outcome, factor)
        self.curves.main.set_labels(axes["advance"])
        self.curves.strip.set_labels(axes["deviation"], axes["speed"])
        self.curves.show_series(series, self._names)
        self._show_overlay()
        bare = not series.bars and not len(series.marks.row)
        lacking = wording.missing(outcome, wording.MOST_SENTENCES if bare else 1)
        words = wording.caption(series, lacking[:1] if bare else lacking, self._display.frame)
        if self.map_button.isChecked() and not lacking:
            words = wording.total_caption(docket)
        if words != self.caption.text():
            self.caption.setText(words)
            self.curves.setAccessibleDescription(words)
        self.curves.show_note("\n".join(lacking) if bare else "")
        self._show_capsule(outcome, ghost, factor, axes)
        self._show_decision()
        if self.map_button.isChecked():
            self._show_total(outcome, axes)
        self._show_pose()

    def _show_overlay(self) -> None:
        self.curves.show_overlay(self._feed.overlay, self._factor())

    def _show_decision(self) -> None:
        """Lay on both plots what is decided, if it is of the docket as it stands."""
        if self.curves.series is None:  # nothing is drawn yet; the first redraw comes here
            return
        decisions, other = self._feed.decisions, self._feed.other_outcome
        found, layers, factor = decisions.current, decisions.layers, self._factor()
        titles = wording.titles(found)
        words = "" if other is None else wording.session_name(other.docket, other.session)
        self.curves.show_decision(
            speed_layers(
                found, layers, decisions.chosen, other, words, factor,
                self.curves.series.x_range[1],
            ),
            titles,
        )  # fmt: skip
        self.capsule.show_decision(
            capsule_layers(found, layers, other, words, factor, self._display.depression), titles
        )

    def close_down(self) -> None:
        """The window closes: what is worked out for the board is waited for."""
        self._feed.decisions.close()

    def _show_capsule(self, outcome, ghost, factor: float, axes: dict[str, str]) -> None:
        docket, display = outcome.docket, self._display
        unit_kpa = DEPRESSION.unit(display.depression_unit).factor
        series = capsule_series(outcome, ghost, factor, display.depression, unit_kpa)
        bare = series.rising is None and not series.bars and not len(series.marks.row)
        unused = bare and docket.capsule.given_as == "none"
        if self.capsule.isHidden() != unused:
            self.capsule.setHidden(unused)
        if unused:
            return
        if docket.capsule.given_as == "none":
            words = self.tr("No capsule entered")
        else:
            words = wording.no_capsule(outcome)
        self.capsule.view.set_labels(axes["vacuum"], axes["depression"])
        self.capsule.show_series(series, words)

    @cached_property
    def total(self) -> TotalMap:
        """The total map, built when first asked for: the window need not wait for it."""
        from bobweight.app.board.total import TotalMap

        total = TotalMap()
        self.upper.addWidget(total)
        return total

    def _show_total(self, outcome, axes: dict[str, str]) -> None:
        from bobweight.app.board.total import total_series

        series = total_series(outcome, self._display.depression, self._to_kpa,
                              self.speed_bar.direction)  # fmt: skip
        self.total.view.set_labels(axes["depression"], axes["engine"])
        self.total.show_series(series)

    def _to_kpa(self, depression):
        return store(depression, DEPRESSION, self._display.depression_unit)

    def set_speed(self, distributor_rpm: float) -> None:
        """Pose the plan view at a distributor speed in rev/min."""
        self._speed_rpm = max(float(distributor_rpm), 0.0)
        self._show_pose()

    @property
    def speed_rpm(self) -> float:
        """Distributor speed at which the plan view stands."""
        if self._speed_rpm is None:
            prediction = self._feed.outcome.prediction
            return FIRST_SPEED_SHARE * prediction.full_rpm if prediction else 0.0
        return self._speed_rpm

    def _show_pose(self) -> None:
        outcome = self._feed.outcome
        docket, prediction = outcome.docket, outcome.prediction
        factor = self._display.factor(docket.particulars.drive_ratio)
        speed = self.speed_rpm
        advance = None
        if prediction is not None:
            branch = getattr(prediction, self.speed_bar.direction)
            advance = float(on_branch(branch, speed))
            self.plan.show_pose(docket, advance)
        else:
            words = wording.no_plan(outcome)
            self.plan.show_nothing(words)
        shown = None if advance is None else advance * factor
        self.curves.set_pointer(speed * factor, shown)
        words = wording.speed_readout(speed * factor, shown, self._display.frame)
        self.speed_bar.show_speed(speed * factor, self.curves.series.x_range[1], words)

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.LanguageChange:
            self.redraw_soon()

    # Speed

    def _pointed(self, shown_speed: float) -> None:
        self.set_speed(shown_speed / self._factor())

    def _turned(self, _direction: str) -> None:
        self.redraw_soon()

    def _factor(self) -> float:
        return self._display.factor(self._store.docket.particulars.drive_ratio)

    def _map_toggled(self, on: bool) -> None:
        self.upper.setCurrentWidget(self.total if on else self.curves)
        self.map_button.setText(self.tr("Curves") if on else self.tr("Total map"))
        self.redraw()

    # Editing by hand

    def _dragged(self, grip: Grip, x: float, y: float, gesture: object) -> None:
        self._pending = (grip, x, y, gesture)
        self._edit_timer.start()

    def _bent(self, spring: int, tang_mm: float, gesture: object) -> None:
        self._pending = ("tang", spring, tang_mm, gesture)
        self._edit_timer.start()

    def _stop_moved(self, deg: float, gesture: object) -> None:
        self._pending = ("stop", -1, deg, gesture)
        self._edit_timer.start()

    def _apply_pending(self) -> None:
        """The newest step of a drag becomes an edit, and all is redrawn with it.

        A step beyond a value's limits is passed over: the mark stays where the limit is.
        """
        self._edit_timer.stop()
        if self._pending is None:
            return
        what, *rest = self._pending
        self._pending = None
        if rest[-1] is not self._gesture:
            self._gesture, self._base = rest[-1], self._store.docket
        try:
            if what == "tang":
                self._edit_tang(*rest)
            elif what == "stop":
                _, deg, gesture = rest
                words = self.tr("Move the stop to {0}°").format(f"{deg:.1f}")
                self._store.edit(words, ("mechanism", "stop_deg"), deg, gesture)
            else:
                self._edit_mark(what, *rest)
        except BobweightError:
            return
        self.redraw()

    def _edit_tang(self, spring: int, tang_mm: float, gesture: object) -> None:
        words = self.tr("Bend the {0} post to {1} mm")
        words = words.format(self._names[spring], f"{tang_mm:.2f}".replace("-", "−"))
        path = ("mechanism", "springs", spring, "tang_mm")
        self._store.edit(words, path, tang_mm, gesture)

    def _edit_mark(self, grip: Grip, x: float, y: float, gesture: object) -> None:
        docket, factor = self._base, self._factor()  # every step of a drag starts from its first
        session = self._display.session_index(docket)
        if grip.kind == "check":
            words = self.tr("Move check point {0}")
            after = drags.check_point_moved(docket, grip, x, y, factor)
        elif grip.kind == "vacuum":
            words = self.tr("Move vacuum check point {0}")
            kpa = drags.depression_snapped(x, self._to_kpa(1.0))
            after = drags.vacuum_point_moved(docket, grip, kpa, y, factor)
        elif grip.kind == "reading":
            words = self.tr("Correct reading {0}")
            after = drags.reading_moved(docket, session, grip, x, y, factor)
        else:
            words = self.tr("Correct reading {0}")
            kpa = drags.depression_snapped(x, self._to_kpa(1.0))
            after = drags.vacuum_reading_moved(docket, session, grip, kpa, y, factor)
        self._store.replace(words.format(grip.index + 1), after, gesture)

    def _drag_ended(self) -> None:
        self._apply_pending()
        self._gesture = self._base = None
        self.redraw()

    def _drag_given_up(self) -> None:
        """Everything as it was before the drag."""
        self._edit_timer.stop()
        self._pending = None
        if self._base is not None and self._store.docket != self._base:
            self._store.undo_stack.undo()
        self._gesture = self._base = None
        self.redraw()

    def _path_of(self, grip: Grip) -> tuple:
        if grip.kind == "check":
            return ("target", "points", grip.index)
        if grip.kind == "vacuum":
            return ("target", "vacuum_points", grip.index)
        session = self._display.session_index(self._store.docket)
        return ("sessions", session, "readings", grip.index)

    def _clicked(self, grip: Grip) -> None:
        self.picked.emit(self._path_of(grip))

    def _menu_asked(self, grip: Grip, at: QPoint) -> None:
        self.fill_menu(grip)
        self.menu.popup(at)

    def fill_menu(self, grip: Grip) -> None:
        """Make the menu that of a reading or a check point."""
        self._menu_grip = grip
        reading = grip.kind in ("reading", "vacuum reading")
        self.leave_out.setVisible(reading)
        if reading:
            session = self._display.session_index(self._store.docket)
            row = self._store.docket.sessions[session].readings[grip.index]
            self.leave_out.setChecked(row.left_out)
            self.delete.setText(self.tr("Delete this reading"))
        else:
            self.delete.setText(self.tr("Delete this check point"))

    def _leave_out(self, on: bool) -> None:
        path = (*self._path_of(self._menu_grip), "left_out")
        number = self._menu_grip.index + 1
        words = self.tr("Leave reading {0} out") if on else self.tr("Use reading {0} again")
        self._store.edit(words.format(number), path, on)

    def _delete(self) -> None:
        path = self._path_of(self._menu_grip)
        words = self.tr("Delete reading {0}") if "readings" in path else self.tr(
            "Delete check point {0}"
        )  # fmt: skip
        after = drags.without(self._store.docket, path)
        self._store.replace(words.format(self._menu_grip.index + 1), after)
