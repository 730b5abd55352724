"""The pages of the window: their files read one by one, each built when it is first shown."""

from __future__ import annotations

from collections.abc import Container
from typing import Protocol

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtWidgets import QFrame, QScrollArea, QStackedWidget, QWidget
from shiboken6 import isValid

from bobweight.app.guard import guarded
from bobweight.app.pages import ENTRIES
from bobweight.app.pages.page import Page
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.core.problems import Path, required

_JUDGED = ("mechanism", "verdict")


class Refusing(Protocol):
    """A field, or the rows of a table."""

    path: Path

    @property
    def refuses(self) -> bool:
        """True while a text stands in it that was refused."""
        ...


class PageStack(QStackedWidget):
    """The pages, one in front; ``state_told`` gives a page's key and state."""

    state_told = Signal(str, str)
    timing_asked = Signal()

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._store, self._feed, self._display = store, feed, display
        self._classes: dict[str, type[Page]] = {}
        self.built: dict[str, Page] = {}
        self._loader = QTimer(self, interval=10)  # one page at a time, once the window is painted
        self._loader.timeout.connect(self._load_next)
        self._refusing: list[Refusing] = []
        store.refusal.connect(self._refusal)
        feed.changed.connect(self.tell_states)
        feed.decisions.changed.connect(self._tell_decided)

    @guarded
    def minimumSizeHint(self) -> QSize:
        """Of the page in front: all scroll and need the same, and Qt would ask every one of them
        whenever anything of the window is laid out."""
        front = self.currentWidget()
        return super().minimumSizeHint() if front is None else front.minimumSizeHint()

    # Files

    def start_loading(self) -> None:
        """Import the pages' files in idle moments."""
        self._loader.start()

    def load_all(self) -> None:
        """Import every page's file and tell its state, now rather than in idle moments."""
        while len(self._classes) < len(ENTRIES):
            self._load_next()

    def _load_next(self) -> None:
        waiting = [key for key in ENTRIES if key not in self._classes]
        if waiting:
            self._class_of(waiting[0])
            self.tell_states()
        else:
            self._loader.stop()

    def _class_of(self, key: str) -> type[Page]:
        if key not in self._classes:
            self._classes[key] = ENTRIES[key].load()
        return self._classes[key]

    def tell_states(self) -> None:
        """Tell the state of every page whose file is read."""
        self._tell(ENTRIES)

    def _tell(self, keys: Container[str]) -> None:
        self._refusing = [each for each in self._refusing if isValid(each) and each.refuses]
        refused = {self._page_of(each.path) for each in self._refusing}
        for key, page_class in self._classes.items():
            if key in keys:
                state = "wrong" if key in refused else page_class.state_of(self._feed)
                self.state_told.emit(key, state)

    def _refusal(self, editor: Refusing) -> None:
        """A text was refused, or is no longer: the docket knows nothing of it, its page does."""
        known = editor in self._refusing
        if editor.refuses and not known:
            self._refusing.append(editor)
        if known or editor.refuses:
            self.tell_states()

    def _tell_decided(self) -> None:
        """Again the states that hang on the decision: it comes later than the edit it is of."""
        self._tell(_JUDGED)

    # Pages

    def page(self, key: str) -> Page:
        """A page, built when first asked for."""
        if key not in self.built:
            area = QScrollArea(self)
            area.setWidgetResizable(True)
            area.setFrameShape(QFrame.Shape.NoFrame)
            area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
            area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            # built where it will stand: whatever takes another parent is styled anew, all of it
            page = self._class_of(key)(self._store, self._feed, self._display, area.viewport())
            area.setWidget(page)
            self.built[key] = page
            self.addWidget(area)
            page.timing_asked.connect(self.timing_asked)
        return self.built[key]

    def show_page(self, key: str) -> None:
        """Bring a page to the front."""
        page = self.page(key)
        for index in range(self.count()):
            area = self.widget(index)
            if isinstance(area, QScrollArea) and area.widget() is page:
                self.setCurrentIndex(index)

    def key_for(self, path: Path) -> str | None:
        """The page that edits a value; None for a value that no page edits."""
        self.load_all()
        return self._page_of(path)

    def _page_of(self, path: Path) -> str | None:
        for key, page_class in self._classes.items():
            if any(path[: len(root)] == root for root in page_class.roots):
                return key
        return None

    # Ending

    def drop(self) -> None:
        """Let every page go; each is built anew when it is next shown."""
        self.close_down()
        while self.count():
            area = required(self.widget(0))
            self.removeWidget(area)
            area.deleteLater()
        self.built.clear()
        self._loader.start()

    def close_down(self) -> None:
        """Stop what the pages have running."""
        self._loader.stop()
        for page in self.built.values():
            page.close_down()
