"""The main window: wiring only. Three zones: pages, the page, the board."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import (
    QAction,
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QComboBox,
    QLineEdit,
    QMainWindow,
    QPlainTextEdit,
    QSplitter,
    QWidget,
)
from shiboken6 import isValid

from bobweight.app.guard import guarded
from bobweight.app.messages import sentence
from bobweight.app.pages import ENTRIES
from bobweight.app.pages.page import Page
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.journal import Typed
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.store.photographs import Photographs
from bobweight.app.store.session import Settings
from bobweight.app.theme import apply_theme, is_high, still, wants_contrast
from bobweight.app.widgets.card import stacked
from bobweight.app.widgets.dialogs import Dialogs
from bobweight.app.widgets.plain import application
from bobweight.app.widgets.section import Sections
from bobweight.app.window.answer_line import AnswerLine
from bobweight.app.window.display_bar import DisplayBar
from bobweight.app.window.fault_notices import FaultNotices
from bobweight.app.window.files import FileDesk
from bobweight.app.window.habits import Habits, dropped_docket
from bobweight.app.window.help import HelpActs
from bobweight.app.window.menus import Menus
from bobweight.app.window.notice import NoticeBar
from bobweight.app.window.page_stack import PageStack
from bobweight.app.window.room import (
    PAGE_LEAST,
    board_least,
    first_size,
    is_small,
    page_width,
    room_name,
)
from bobweight.app.window.strip import PageStrip
from bobweight.app.words import translate, visible
from bobweight.core.figure.view import FRAMES
from bobweight.core.problems import Path as DocketPath
from bobweight.core.problems import Problem, required

if TYPE_CHECKING:
    from bobweight.app.store.faults import Ended
    from bobweight.app.timing_session import TimingSession

_FIELDS = (QLineEdit, QPlainTextEdit, QComboBox, QAbstractItemView)  # keys mean something there


class MainWindow(QMainWindow):
    """One window, one docket. ``begin`` decides what it shows at first."""

    def __init__(self, settings: Settings | None = None, dialogs: Dialogs | None = None) -> None:
        settings = settings or Settings()
        _apply_theme(settings)  # first, so that the window begins with the right type size
        super().__init__()
        self.settings = settings
        self.dialogs = dialogs or Dialogs()
        self._closed = False
        self._shared_out = False
        self.is_small = False
        self.store = Store(parent=self)
        self.display = Display(self)
        self.settings.load_display(self.display)
        self.feed = OutcomeFeed(self.store, self.display, self)
        self.titles = {key: entry.shown_title() for key, entry in ENTRIES.items()}

        self._build()
        self.files = FileDesk(
            self, self.store, self.display, self.settings, self.notices, self.dialogs
        )
        self.files.commit = self.commit
        self.files.journal.typed = self.typed
        self.files.refused = self.refused
        self.files.show_place = self.open_path_on_page
        self._watched: QLineEdit | QPlainTextEdit | None = None
        self._faults = FaultNotices(self.notices, self.display, self.files.show_log, self)
        self.timing: TimingSession | None = None
        self.photographs = Photographs(self.store, self.settings.folder)
        self.photographs.waits = self.files.patiently
        self.setAcceptDrops(True)
        self.habits = Habits(self)
        self.help = HelpActs(self)
        self.menus = Menus(self)
        self._connect()
        self._restore_place()
        self._retitle()
        self.files.begun.connect(self._begin_typing)

    def _begin_typing(self) -> None:
        """A new docket: the cursor stands in its first field."""
        self.show_page("particulars")
        self.page("particulars").focus_path(("particulars", "title"))

    def _build(self) -> None:
        """The zones, each made where it will stand, in the order of the keyboard: what takes
        another parent is styled anew, all of it."""
        from bobweight.app.board.board import Board

        middle = QWidget()
        whole = stacked(middle, spacing=0)
        self.display_bar = DisplayBar(self.store, self.display)
        bar = self.menuBar()
        if bar.isNativeMenuBar():  # the system's, which holds nothing of ours
            whole.addWidget(self.display_bar)
        else:
            bar.setCornerWidget(self.display_bar)
        self.setCentralWidget(middle)
        self.answer = AnswerLine(self.store, self.feed, self.display)
        whole.addWidget(self.answer)
        self.splitter = QSplitter(Qt.Orientation.Horizontal)
        whole.addWidget(self.splitter, 1)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.setHandleWidth(5)
        self.strip = PageStrip(self.titles, self.splitter)
        self.stack = PageStack(self.store, self.feed, self.display, self.splitter)
        self.board = Board(self.store, self.feed, self.display, self.splitter)
        for zone, stretch in enumerate((0, 0, 1)):
            self.splitter.setStretchFactor(zone, stretch)
        self._keep_least_widths()
        self.notices = NoticeBar()
        whole.addWidget(self.notices)  # below: what comes moves no field under the mouse

    @property
    def _character(self) -> int:
        return self.fontMetrics().horizontalAdvance("0")

    def _keep_least_widths(self) -> None:
        self.stack.setMinimumWidth(self._character * PAGE_LEAST)
        self.board.setMinimumWidth(board_least(self.is_small, self._character))

    def _connect(self) -> None:
        self.strip.chosen.connect(self.show_page)
        self.store.changed.connect(self._retitle)
        self.store.file_changed.connect(self._retitle)
        self.stack.state_told.connect(self.strip.show_state)
        self.stack.timing_asked.connect(self.begin_timing)
        self.photographs.failed.connect(self._photograph_failed)
        self.board.picked.connect(self.open_path_on_page)
        self.answer.page_asked.connect(self.show_page)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._scheme_changed)
        application().focusChanged.connect(self._focus_changed)

    def _restore_place(self) -> None:
        # not self.screen(): PySide takes the screen for a child of the window, deleted with it
        self.resize(first_size(QGuiApplication.primaryScreen().availableSize()))
        place = self.settings.bytes("window/place")
        if not place.isEmpty():
            self.restoreGeometry(place)
        self._follow_room()

    @guarded
    def resizeEvent(self, event: QResizeEvent) -> None:
        """A small window has a rail of pages and one large picture."""
        super().resizeEvent(event)
        self._follow_room()

    def _follow_room(self) -> None:
        small = is_small(self.size(), self._character)
        if small != self.is_small:
            self.is_small = small
            self._keep_least_widths()
            self.strip.set_rail(small)
            self.board.set_small(small)
            if self._shared_out:
                self._share_out()

    @guarded
    def showEvent(self, event: QShowEvent) -> None:
        """Share the width out once it is known: the board takes what the others leave."""
        super().showEvent(event)
        if self._shared_out:
            return
        self._shared_out = True
        if not self.stack.built:  # built now rather than before: the docket to be shown is open
            self.strip.choose(self._first_page())
            self.stack.tell_states()
        self.stack.start_loading()
        # Else the splitter does not know its own width yet.
        for laid in (self.layout(), required(self.centralWidget()).layout()):
            required(laid).activate()
        self._share_out()
        if self.focusWidget() is None:  # else Qt takes the frame's list, and an arrow alters it
            self.strip.setFocus(Qt.FocusReason.OtherFocusReason)

    def _first_page(self) -> str:
        """The page last looked at; at the first start the verdict, with its answer drawn."""
        last = self.settings.text("window/page", "verdict")
        return last if last in self.titles else "verdict"

    def _zones_key(self) -> str:
        """Where the shares of the width are kept: by the size of screen."""
        return f"window/zones-{room_name(self.size(), self._character)}"

    def _share_out(self) -> None:
        """Share the width out as it was left on a window of this size, or as it should begin."""
        strip = self.strip.minimumWidth()
        page = self.settings.number(self._zones_key())
        if page is None:
            page = page_width(self.width(), self._character)
        self.splitter.setSizes([strip, page, max(self.width() - strip - page, 1)])

    def begin(self, path: Path | None = None, ended: Sequence[Ended] = ()) -> None:
        """Open a docket, or what the last use and the first start ask for; ``ended`` are programs
        that ended without saying so."""
        self.files.begin(path, ended)

    # Pages ----------------------------------------------------------------------------------

    def page(self, key: str) -> Page:
        """A page, built when first asked for."""
        return self.stack.page(key)

    def show_page(self, key: str) -> None:
        """Show a page, and choose it in the strip."""
        self.stack.show_page(key)
        self.strip.choose(key)
        self.board.follow_page(key)

    def page_asked(self) -> None:
        """A page's action was chosen: show it and give it the keyboard."""
        self.show_page(cast(QAction, self.sender()).data())
        self._focus_page()

    def begin_timing(self) -> None:
        """Cover the window with the timing-light session, over the readings."""
        if self.timing is not None:
            return
        self.commit()
        self.show_page("readings")
        from bobweight.app.timing_session import TimingSession

        over = required(self.centralWidget())
        self.timing = TimingSession(self.store, self.display, self.feed, over)
        self.timing.left.connect(self._timing_left)
        self.display_bar.hold_frame(self.timing.taking.frame)
        self.timing.begin()

    def _timing_left(self) -> None:
        self.timing = None
        self.display_bar.hold_frame("")
        self._focus_page()

    def show_sheet(self) -> None:
        """Show the page that prints."""
        self.show_page("sheet")
        self._focus_page()

    def print_asked(self) -> None:
        """The menu asks for a print besides the sheet."""
        self.show_print(cast(QAction, self.sender()).data())

    def show_print(self, key: str) -> QWidget:
        """Open the form and preview of a print: ``tape``, ``ring``, ``card``, ``session`` or
        ``steps``."""
        from bobweight.app.prints.dialog import PrintDialog

        self.commit()
        dialog = PrintDialog(key, self.feed, self.display, self.settings, self)
        dialog.open()
        return dialog

    def show_workshop(self) -> QWidget:
        """Open the form of the workshop's heading."""
        from bobweight.app.prints.workshop_dialog import WorkshopDialog

        dialog = WorkshopDialog(self.settings, self)
        dialog.accepted.connect(self._workshop_changed)
        dialog.open()
        return dialog

    def _workshop_changed(self) -> None:
        sheet = self.stack.built.get("sheet")
        if sheet is not None:
            sheet.follow()

    def open_path_on_page(self, path: DocketPath) -> None:
        """Open the field of a value picked on the board."""
        key = self.stack.key_for(path)
        if key is not None:
            self.show_page(key)
            self.page(key).focus_path(path)

    # Zones ----------------------------------------------------------------------------------

    def next_zone(self) -> None:
        """Give the keyboard to the next zone: pages, page, board."""
        self._step_zone(1)

    def previous_zone(self) -> None:
        """Give the keyboard to the zone before."""
        self._step_zone(-1)

    def next_part(self) -> None:
        """Open the next part of the page, and give its first field the keyboard."""
        self.page(self.strip.current_key()).focus_part(1)

    def previous_part(self) -> None:
        """The same with the part before."""
        self.page(self.strip.current_key()).focus_part(-1)

    def add_another(self) -> None:
        """Another spring, session or capsule, whatever the page has several of."""
        self.commit()
        self.page(self.strip.current_key()).add_another()

    def _step_zone(self, step: int) -> None:
        zones = [self.strip, self.stack, self.display_bar, self.board]
        focus = QApplication.focusWidget()
        here = next(
            (i for i, zone in enumerate(zones) if focus and (
                zone is focus or zone.isAncestorOf(focus))), -1 if step > 0 else 0,
        )  # fmt: skip
        for offset in range(1, len(zones) + 1):
            if self._focus_in(zones[(here + step * offset) % len(zones)]):
                return

    def _focus_page(self) -> None:
        self._focus_in(self.stack)

    def _focus_in(self, zone: QWidget) -> bool:
        """Give the keyboard to a zone: to itself if it takes it, else to the first inside; on a
        page to its first field rather than to a heading or a button above that."""
        page = self.page(self.strip.current_key()) if zone is self.stack else None
        if page is not None:
            page.sections.fit()  # what will be open is open, so that its fields are there
            zone = page
        candidates = [zone, *zone.findChildren(QWidget)]
        takers = [
            w for w in candidates
            if w.focusPolicy() & Qt.FocusPolicy.TabFocus and w.isVisible() and w.isEnabled()
        ]  # fmt: skip
        if not takers:
            return False
        if page is not None:
            first = page.begins_at()
            takers.sort(key=lambda taker: (taker is not first, not isinstance(taker, _FIELDS)))
            page.bring_into_view(takers[0])
        takers[0].setFocus(Qt.FocusReason.ShortcutFocusReason)
        return True

    # Acts -----------------------------------------------------------------------------------

    def commit(self) -> None:
        """Take what is still being typed, in a cell or in a field."""
        if not self.stack.built:
            return
        from bobweight.app.editors.table import RowView

        focus = QApplication.focusWidget()
        view = focus.parentWidget() if focus else None
        while view is not None and not isinstance(view, QAbstractItemView):
            view = view.parentWidget()
        if isinstance(view, RowView) and isinstance(focus, QLineEdit):
            view.commitData(focus)
        page = self.stack.built.get(self.strip.current_key())
        if page is not None:
            page.commit()

    def refused(self) -> list[Typed]:
        """What stands in fields and cells and cannot be taken as it is."""
        if not self.stack.built:
            return []
        from bobweight.app.window.typing import not_taken

        return not_taken(self, self.store)

    def typed(self) -> list[Typed]:
        """What stands in fields and cells and is not taken yet."""
        if not self.stack.built:
            return []
        from bobweight.app.window.typing import in_hand, not_taken

        return [*not_taken(self, self.store), *in_hand(self._watched)]

    def _focus_changed(self, _old: QWidget | None, new: QWidget | None) -> None:
        from bobweight.app.window.typing import field_of

        typing = isinstance(new, QLineEdit | QPlainTextEdit) and self.isAncestorOf(new)
        self._watch(cast(QLineEdit | QPlainTextEdit, new) if typing else None)
        field = field_of(new)
        self.board.plan.light(field.path[1:] if field and field.path[0] == "mechanism" else None)

    def _watch(self, editor: QLineEdit | QPlainTextEdit | None) -> None:
        """Have the journal know when something is typed in the editor that has the keyboard."""
        if self._watched is not None and isValid(self._watched):
            self._watched.textChanged.disconnect(self.files.journal.poke)
        self._watched = editor
        if editor is not None:
            editor.textChanged.connect(self.files.journal.poke)

    def paste(self) -> None:
        """Paste rows into the table that has the keyboard, else the first of the page."""
        from bobweight.app.editors.table import RecordTable

        page = self.stack.built.get(self.strip.current_key())
        tables = [t for t in page.findChildren(RecordTable) if t.isVisible()] if page else []
        here = QApplication.focusWidget()
        focused = [t for t in tables if here is not None and t.isAncestorOf(here)]
        for table in (focused or tables)[:1]:
            table.paste_clipboard()

    def toggle_frame(self) -> None:
        """Show figures in the next frame: distributor, crank, crank with static if it is known."""
        docket = self.store.docket
        known = FRAMES if docket.setting_up.static_deg is not None else FRAMES[:2]
        here = known.index(self.display.view(docket).frame)
        self.display.choose_frame(known[(here + 1) % len(known)], docket)

    def set_theme(self, name: str) -> None:
        """Take a theme and keep it."""
        self.settings.theme = name
        _apply_theme(self.settings)
        self.menus.follow()

    def set_contrast(self, contrast: str) -> None:
        """Take a contrast and keep it."""
        self.settings.contrast = contrast
        _apply_theme(self.settings)

    def set_zoom(self, zoom: int) -> None:
        """Take a size of type and keep it; the pages are made anew, for they measure in it."""
        if zoom == self.settings.zoom:
            return
        self.commit()
        self.settings.zoom = zoom
        _apply_theme(self.settings)
        here = self.strip.current_key()
        self.stack.drop()
        self.show_page(here)
        self._keep_least_widths()
        self._follow_room()
        self.strip.set_rail(self.is_small)
        self._share_out()
        event = QEvent(QEvent.Type.ApplicationPaletteChange)
        for widget in (self.answer, *self.board.findChildren(QWidget)):
            QApplication.sendEvent(widget, event)
        self.board.redraw_soon()

    # Following ------------------------------------------------------------------------------

    def _retitle(self) -> None:
        self.setWindowTitle(
            translate("window", "{title}[*] – Bobweight").format(
                title=visible(self.files.title(), 200)
            )
        )
        if self.isWindowModified() != self.store.dirty:
            self.setWindowModified(self.store.dirty)
        self.setWindowFilePath(str(self.store.file_path or ""))

    def _photograph_failed(self, problem: Problem) -> None:
        self.notices.say(sentence(problem, None, self.display), topic="photographs")

    def _scheme_changed(self) -> None:
        if self.settings.theme == "system":
            _apply_theme(self.settings)

    @guarded
    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.files.look_at_disk()
            # asked, not connected to: PySide takes the object that tells of it down with the window
            if self.settings.contrast == "system" and wants_contrast() != is_high():
                _apply_theme(self.settings)

    @guarded
    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """A docket may be dropped on the window."""
        if dropped_docket(event.mimeData()) is not None:
            event.acceptProposedAction()

    @guarded
    def dropEvent(self, event: QDropEvent) -> None:
        path = dropped_docket(event.mimeData())
        if path is not None:
            event.acceptProposedAction()
            self.files.open_path(path)

    @guarded
    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about unsaved work, then end in order: nothing new starts, what runs is waited for,
        signals of longer-lived objects are let go, settings are kept."""
        if self._closed:
            event.accept()
            return
        if not self.files.may_leave():
            event.ignore()
            return
        self._closed = True
        if self.timing is not None:
            self.timing.leave()
        self.board.close_down()
        self.stack.close_down()
        QGuiApplication.styleHints().colorSchemeChanged.disconnect(self._scheme_changed)
        application().focusChanged.disconnect(self._focus_changed)
        self._watch(None)
        for sections in self.findChildren(Sections):
            sections.stop()
        self._faults.close()
        self.files.close()
        self.store.release()
        self.settings.save_display(self.display)
        self.settings.set_bytes("window/place", self.saveGeometry())
        self.settings.set_text(self._zones_key(), str(self.splitter.sizes()[1]))
        self.settings.set_text("window/page", self.strip.current_key())
        self.settings.sync()
        event.accept()


def _apply_theme(settings: Settings) -> None:
    apply_theme(application(), settings.theme, settings.zoom, settings.contrast)
    still(settings.still)
