"""The board: wires plots, plan view, speed and drags to the docket's outcome."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QEvent, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QHBoxLayout,
    QPushButton,
    QSplitter,
    QStackedWidget,
    QWidget,
)

from bobweight.app.board import drags, wording
from bobweight.app.board.capsule import CapsulePlot
from bobweight.app.board.caption import Caption, CaptionRoom
from bobweight.app.board.curves import CurvePlot
from bobweight.app.board.drags import Grip
from bobweight.app.board.halves import Halves
from bobweight.app.board.mark_menu import MarkMenu
from bobweight.app.board.pane import CAPSULE, OF_ANY, OF_PAGE, PicturePane
from bobweight.app.board.plan import PlanView
from bobweight.app.board.shelf import Shelf
from bobweight.app.board.speed_bar import SpeedBar
from bobweight.app.guard import guarded
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.decided import Decided
from bobweight.core.figure.description import Figure
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.ratio import ratio_figure
from bobweight.core.figure.speed import deviation_figure, speed_figure
from bobweight.core.figure.traces import on_branch
from bobweight.core.figure.vacuum import has_capsule, vacuum_figure
from bobweight.core.figure.view import View
from bobweight.core.judgement.ratio import torque_ratio
from bobweight.core.mechanics.remount import turned_back
from bobweight.core.problems import BobweightError, Path, required
from bobweight.core.record import parameters, put
from bobweight.core.units import DEPRESSION, store

if TYPE_CHECKING:
    from bobweight.app.board.total import TotalMap
    from bobweight.core.judgement.consequences import Consequences

FIRST_SPEED_SHARE = 0.6
"""Where the plan view stands at first: a share of the speed of full advance."""
BESIDE_THE_CURVE = ("particulars", "findings", "reassembly")
"""Pages that have nothing to do with the curve: the board stays as it is."""
_NOT_DRAWN = ("particulars", "findings", "reassembly", "photographs", "history")
LARGE_OF_PAGE = {"mechanism": "plan", "vacuum": "pane"}
"""The large picture of a page where there is room for one; elsewhere the curve."""


class Board(QWidget):
    """Curves, capsule, total map and plan view of the open docket.

    Signals
    -------
    picked(path)
        A part, a check point or a reading was clicked: the path of its values in the docket.
    """

    picked = Signal(object)
    _due = Signal()

    def __init__(self, store: Store, feed: OutcomeFeed, display: Display,
                 parent: QWidget | None = None) -> None:  # fmt: skip
        super().__init__(parent)
        self._store, self._feed, self._display = store, feed, display
        self._speed_rpm: float | None = None
        self._pending: tuple | None = None
        self._gesture: object | None = None
        self._base: Docket | None = None
        self._as_form = False
        self._drawn_for: tuple[object, ...] = ()
        self._decided: Consequences | None = None
        self.is_small = False
        self.large = "curves"
        self._to_redraw = False
        self._edit_timer = QTimer(self, singleShot=True, interval=0)
        self._build()
        self._connect()
        self.redraw_soon()  # not at once: what is to be shown is about to be opened

    # Making

    def _build(self) -> None:
        self.caption = Caption()
        self.map_button = QPushButton(translate("Board", "Total map"))
        self.map_button.setCheckable(True)
        tip = translate("Board", "Total advance at the crank over engine speed and depression")
        set_tip(self.map_button, tip)
        self.curves = CurvePlot()
        self.upper = QStackedWidget()
        self.upper.addWidget(self.curves)
        self.plan = PlanView(wording.PartWords(self._display))
        self.speed_bar = SpeedBar()
        self.pane = PicturePane(self._hold)
        posed = self.posed = QWidget()
        column = self._posed_column = stacked(posed, spacing=2)
        column.addWidget(self.plan, 1)
        column.addWidget(self.speed_bar)
        self.under = QSplitter(Qt.Orientation.Horizontal)
        self.under.addWidget(posed)
        self.under.addWidget(self.pane)
        self.speed_bar.keep_room(wording.speed_readout(18888.0, 88.8, "distributor"))
        self.under.setSizes([600, 500])
        self.under.setStretchFactor(0, 6)
        self.under.setStretchFactor(1, 5)
        self.under.setChildrenCollapsible(False)
        self.halves = Halves(self.upper, self.under, posed)
        self.pane.setMinimumWidth(200)
        head = QHBoxLayout()
        head.setContentsMargins(10, 6, 10, 2)
        head.addWidget(CaptionRoom(self.caption), 1)
        head.addWidget(self.map_button)
        box = stacked(self, spacing=2)
        box.addLayout(head)
        box.addWidget(self.halves, 1)
        self.shelf = Shelf(
            {
                "curves": (self.upper, translate("Board", "Curve")),
                "plan": (self.posed, translate("Board", "Mechanism")),
                "pane": (self.pane, translate("Board", "Capsule and other pictures")),
            }
        )
        self.shelf.asked.connect(self.show_large)
        self.shelf.drawing.connect(self._draw)
        self.shelf.hide()
        box.addWidget(self.shelf)
        self.menu = MarkMenu(self._store, self._path_of, self)

    def _connect(self) -> None:
        self._due.connect(self._redraw_due, Qt.ConnectionType.QueuedConnection)
        self._edit_timer.timeout.connect(self._apply_pending)
        self._feed.changed.connect(self._outcome_changed)
        self._feed.followed.connect(self._redraw_due)
        self._feed.overlay_changed.connect(self._show_over)
        self._feed.decisions.changed.connect(self._show_over)
        self._feed.decisions.path_asked.connect(self.picked)
        self.map_button.toggled.connect(self._map_toggled)
        self._hold(self.curves)
        self.pane.chosen.connect(self._show_pane)
        self.curves.pointed.connect(self._pointed)
        self.speed_bar.moved.connect(self._pointed)
        self.speed_bar.turned.connect(self._turned)
        self.plan.picked.connect(self.picked)
        self.plan.mirror_asked.connect(self._mirror)
        self.plan.bent.connect(self._bent)
        self.plan.stop_moved.connect(self._stop_moved)
        self.plan.drag_ended.connect(self._drag_ended)
        self.plan.drag_given_up.connect(self._drag_given_up)

    def _hold(self, plot: CurvePlot | CapsulePlot) -> None:
        """What is drawn on a plot can be taken hold of."""
        plot.dragged.connect(self._dragged)
        plot.drag_ended.connect(self._drag_ended)
        plot.drag_given_up.connect(self._drag_given_up)
        plot.clicked.connect(self._clicked)
        plot.menu_asked.connect(self.menu.ask)

    @property
    def capsule(self) -> CapsulePlot:
        """The capsule's picture."""
        return self.pane.capsule

    # One large picture on a small screen

    def set_small(self, small: bool) -> None:
        """Show one large picture with the others in small, or all of them."""
        if small == self.is_small:
            return
        self.is_small = small
        self.shelf.setVisible(small)
        self.halves.set_small(small)
        if small:
            self.shelf.take_bar(self.speed_bar)
            self.show_large(LARGE_OF_PAGE.get(self.pane.page, "curves"))
        else:
            self._posed_column.addWidget(self.speed_bar)
            for part in (self.upper, self.under, self.posed):
                part.show()
            self.halves.show_form(self._as_form)
            self.redraw_soon()

    def show_large(self, which: str) -> None:
        """Make ``curves``, ``plan`` or ``pane`` the large picture of a small screen."""
        if not self.is_small:
            return
        self.large = which
        self.upper.setVisible(which == "curves")
        self.under.setVisible(which != "curves")
        self.posed.setVisible(which == "plan")
        self.pane.setVisible(which == "pane")
        self.shelf.show_others(which)
        if self.curves.figure is not None:  # else the first redraw shows it
            self._draw(which)
        self.redraw_soon()

    def _is_seen(self, picture: QWidget) -> bool:
        """Whether a picture is followed at once: those in small wait for their thumbnails."""
        return not (self.is_small and picture.isHidden())

    def _draw(self, which: str) -> None:
        """Draw a picture that was not followed while it was out of sight."""
        if which == "plan":
            self._show_plan()
        elif which == "pane":
            self._draw_pane()

    # Showing

    def _outcome_changed(self) -> None:
        """Redraw what is drawn of; a remark, a finding or a step ticked draws nothing anew."""
        decided = self._feed.decisions.current
        if self._key() != self._drawn_for or decided is not self._decided:
            self.redraw_soon()

    def _key(self) -> tuple[object, ...]:
        """All that the board is drawn from, but what is laid over it."""
        docket, ghost = self._store.docket, self._store.ghost
        unit = docket.particulars
        drawn = (getattr(docket, key) for key in parameters(Docket) if key not in _NOT_DRAWN)
        return (*drawn, unit.rotation, unit.lobes, unit.ratio_taken, ghost, self._display.shown)

    def redraw_soon(self) -> None:
        """Redraw once control is back at the event loop, before anything is painted there, which a
        timer would not be; several calls make one redraw."""
        if not self._to_redraw:
            self._to_redraw = True
            self._due.emit()

    def _redraw_due(self) -> None:
        """Redraw now what is due, now that all have followed: it is painted with them."""
        if self._to_redraw:
            self.redraw()

    def redraw(self) -> None:
        """Show the present outcome in everything at once."""
        self._to_redraw = False
        self._drawn_for = self._key()
        outcome = self._feed.outcome
        self._names = wording.spring_names(outcome.docket)
        self._show_curves()
        figure = self.curves.shown
        judged = self._feed.decisions.judged
        lacking = wording.missing(
            outcome, judged, wording.MOST_SENTENCES if figure.bare else 1,
            self._feed.decisions.doubts,
        )  # fmt: skip
        words = wording.caption(judged, self._view(), lacking[:1] if figure.bare else lacking)
        if self.map_button.isChecked() and not lacking:
            words = wording.total_caption(outcome.docket)
        if self.caption.show_words(words):
            self.curves.setAccessibleDescription(words)
        self.curves.show_note("\n".join(lacking) if figure.bare else "")
        if self.map_button.isChecked():
            self._show_total()
        self._show_pose()
        if self.pane.current != "torque" or outcome.prediction is None:  # drawn with the pose
            self._show_pane()
        self.shelf.draw_soon()

    def _view(self) -> View:
        return self._display.view(self._store.docket)

    def _laid_over(self) -> dict[str, Any]:
        """What stands on both plots besides the outcome: the docket held for comparison, the
        session compared with, and what is decided, if it is of the docket as it stands."""
        decisions, other = self._feed.decisions, self._feed.other_outcome
        self._decided = decisions.current
        title = "" if other is None else wording.session_name(other.docket, other.session)
        return {
            "before": self._feed.ghost_outcome,
            "other": None if other is None else other.reduced,
            "other_title": title,
            "decided": Decided(self._decided, decisions.layers, decisions.chosen),
        }

    def _show_curves(self) -> None:
        outcome, view = self._feed.decisions.judged, self._view()
        over, doubted = self._feed.overlay, self._feed.decisions.doubted
        figure = speed_figure(outcome, view, overlay=over, doubted=doubted, **self._laid_over())
        self.curves.show_figures(figure, deviation_figure(outcome, view, figure))
        if not figure.bare:
            self.curves.show_note("")

    def follow_page(self, key: str) -> None:
        """Show the pictures of a page of the window; on its own page the mechanism as a form."""
        self._show_as_form(key == "mechanism")
        turned = key not in (*BESIDE_THE_CURVE, self.pane.page)
        if turned:
            self.pane.page = key
            self.show_large(LARGE_OF_PAGE.get(key, "curves"))
        if self.curves.figure is None:  # the first redraw shows them
            return
        if self._to_redraw:  # the page left took away what it had laid over
            self.redraw()
        elif turned:
            self._show_pane()

    def _show_pane(self) -> None:
        """Offer the pictures that there are for the page, and draw the one wanted."""
        there = [key for key in OF_PAGE.get(self.pane.page, OF_ANY) if self._is_there(key)]
        self.pane.offer(there)
        if self.is_small:
            self.shelf.offer("pane", bool(there))
            if not there and self.large == "pane":
                self.show_large("curves")
        elif self.pane.isHidden() != (not there):
            self.pane.setHidden(not there)
        if self._is_seen(self.pane):
            self._draw_pane()

    def _draw_pane(self) -> None:
        """Draw the picture that the pane shows."""
        if self.pane.current == CAPSULE:
            self._show_vacuum()
        elif self.pane.current:
            figure = self._picture(self.pane.current)
            if figure is not None:
                self.pane.show_figure(figure)

    def _is_there(self, key: str) -> bool:
        """Whether there is anything to be seen in a picture, at little cost."""
        outcome, decisions = self._feed.outcome, self._feed.decisions
        if key == CAPSULE:
            return has_capsule(outcome) or outcome.docket.has_capsule
        if key in ("hang", "pass"):
            return key in self._feed.pictures
        if key == "ratio":
            return torque_ratio(outcome) is not None
        if key in ("before-after", "effect"):
            return decisions.current is not None and decisions.current.decision.cure is not None
        return outcome.prediction is not None

    def _picture(self, key: str) -> Figure | None:
        outcome, view = self._feed.outcome, self._view()
        laid = self._laid_over()
        decided: Decided = laid["decided"]
        if key == "torque":
            from bobweight.core.figure.torque import torque_figure

            return torque_figure(outcome, view, self.speed_rpm, self.speed_bar.direction)
        if key == "ratio":
            return ratio_figure(outcome, view, decided.slips)
        if key == "before-after":
            from bobweight.core.figure.alterations import before_after_figure

            return before_after_figure(outcome, view, decided, laid["other"], laid["other_title"])
        if key == "effect":
            from bobweight.core.figure.alterations import effect_figure

            return effect_figure(view, decided)
        make = self._feed.pictures.get(key)
        return None if make is None else make(view)

    def _show_vacuum(self) -> None:
        outcome, view = self._feed.decisions.judged, self._view()
        figure = vacuum_figure(outcome, view, **self._laid_over())
        there = outcome.docket.has_capsule
        words = wording.no_capsule(outcome) if there else translate("Board", "No capsule entered")
        self.capsule.show_vacuum(figure, view.depression_unit, words)

    def _show_over(self) -> None:
        """Draw what is decided or laid over, which several may tell of at once."""
        if self.curves.figure is not None:  # else the first redraw shows it
            self.redraw_soon()

    def close_down(self) -> None:
        """The window closes: what is worked out for the board is waited for."""
        self._feed.decisions.close()

    @cached_property
    def total(self) -> TotalMap:
        """The total map, built when first asked for: the window need not wait for it."""
        from bobweight.app.board.total import TotalMap

        total = TotalMap()
        self.upper.addWidget(total)
        return total

    def _show_total(self) -> None:
        from bobweight.core.figure.total import total_figure

        figure = total_figure(self._feed.outcome, self._view(), self.speed_bar.direction,
                              self.speed_rpm)  # fmt: skip
        self.total.show_map(figure)

    def _unit_kpa(self):
        return store(1.0, DEPRESSION, self._display.depression_unit)

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
        view, speed, shown = self._view(), self.speed_rpm, None
        if self._feed.outcome.prediction is not None:
            shown = float(view.shown(self._advance_deg()))
        if self._is_seen(self.posed):
            self._show_plan()
        self.curves.set_pointer(speed * view.factor, shown)
        if self.pane.current == "torque" and self.pane.isVisibleTo(self):
            self._show_pane()
        words = wording.speed_readout(speed * view.factor, shown, view.frame)
        self.speed_bar.show_speed(speed * view.factor, self.curves.shown.x.high, words)

    def _advance_deg(self) -> float:
        """Where the mechanism is posed; at rest without a predicted curve."""
        prediction = self._feed.outcome.prediction
        if prediction is None:
            return 0.0
        return float(on_branch(getattr(prediction, self.speed_bar.direction), self.speed_rpm))

    def _show_plan(self) -> None:
        """The mechanism as posed; on its own page at rest with its dimensions, and so too while it
        cannot be computed, as far as it can be drawn."""
        outcome = self._feed.outcome
        if outcome.prediction is not None and outcome.stands_sound and not self._as_form:
            self.plan.show_form(None)
            self.plan.show_pose(outcome.docket, self._advance_deg())
            return
        from bobweight.core.mechanics.typical import can_be_drawn, completed

        made = completed(outcome.docket.mechanism)
        drawn = outcome.docket.with_changes(mechanism=made.mechanism)
        if not can_be_drawn(made.mechanism):
            self.plan.show_form(None)
            self.plan.show_nothing(wording.no_plan(outcome))
            return
        from bobweight.app.board.form_words import form_lines

        self.plan.show_pose(drawn, 0.0)
        self.plan.show_form(form_lines(outcome, made, self._display))

    def _show_as_form(self, on: bool) -> None:
        """Show the plan view large with its dimensions (the Mechanism page), or posed."""
        if on == self._as_form:
            return
        self._as_form = on
        if not self.is_small:  # which picture is large is chosen there
            self.halves.show_form(on)
        self.speed_bar.setVisible(not on)
        self.shelf.fit_height()
        if self.curves.figure is not None:  # else the first redraw shows it
            self._show_pose()

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.LanguageChange:
            self.redraw_soon()

    # Speed

    def _pointed(self, shown_speed: float) -> None:
        self.set_speed(shown_speed / self._view().factor)

    def _turned(self, _direction: str) -> None:
        self.redraw_soon()

    def _map_toggled(self, on: bool) -> None:
        self.upper.setCurrentWidget(self.total if on else self.curves)
        words = translate("Board", "Curves") if on else translate("Board", "Total map")
        self.map_button.setText(words)
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
                words = translate("Board", "Move the stop to {0}°").format(written(deg))
                self._store.edit(words, ("mechanism", "stop_deg"), deg, gesture)
            else:
                self._edit_mark(what, *rest)
        except BobweightError:
            return
        self.redraw_soon()  # once, with what the feed tells of the edit

    def _mirror(self, spring: int) -> None:
        """A spring that pulls the cam forward was clicked: its peg on the other side."""
        docket = self._store.docket
        words = translate("Board", "Mirror the {0} spring").format(self._names[spring])
        path = ("mechanism", "springs", spring)
        made = turned_back(docket.mechanism, spring)
        if made is not None:
            self._store.replace(words, put(docket, path, made))

    def _edit_tang(self, spring: int, tang_mm: float, gesture: object) -> None:
        words = translate("Board", "Bend the {0} post to {1} mm")
        words = words.format(self._names[spring], written(tang_mm, 2))
        path = ("mechanism", "springs", spring, "tang_mm")
        self._store.edit(words, path, tang_mm, gesture)

    def _edit_mark(self, grip: Grip, x: float, y: float, gesture: object) -> None:
        docket, view = required(self._base), self._view()  # every step starts from the first
        session = self._display.session_index(docket)
        if grip.kind == "check":
            words = translate("Board", "Move check point {0}")
            after = drags.check_point_moved(docket, grip, x, y, view)
        elif grip.kind == "vacuum":
            words = translate("Board", "Move vacuum check point {0}")
            kpa = drags.depression_snapped(x, self._unit_kpa())
            after = drags.vacuum_point_moved(docket, grip, kpa, y, view)
        elif grip.kind == "reading":
            words = translate("Board", "Correct reading {0}")
            after = drags.reading_moved(docket, session, grip, x, y, view)
        else:
            words = translate("Board", "Correct reading {0}")
            kpa = drags.depression_snapped(x, self._unit_kpa())
            after = drags.vacuum_reading_moved(docket, session, grip, kpa, y, view)
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

    def _path_of(self, grip: Grip) -> Path:
        if grip.kind == "check":
            return ("target", "points", grip.index)
        if grip.kind == "vacuum":
            return ("target", "vacuum_points", grip.index)
        session = self._display.session_index(self._store.docket)
        return ("sessions", session, "readings", grip.index)

    def _clicked(self, grip: Grip) -> None:
        self.picked.emit(self._path_of(grip))
