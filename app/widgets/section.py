"""A titled part of a page that one opens, and how many of them stand open at a time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QEvent, QObject, QSize, Qt, Signal
from PySide6.QtWidgets import QApplication, QFrame, QScrollArea, QToolButton, QVBoxLayout, QWidget

from bobweight.app.guard import guarded
from bobweight.app.layouts import lay_out
from bobweight.app.theme import set_role
from bobweight.app.widgets.plain import set_tip
from bobweight.app.words import translate
from bobweight.core.problems import required

SCREENS = 2.0
"""No page is longer than so many screens."""
_LEAST_PX = 200  # of a view: a window squeezed to nothing does not close everything


class Section(QFrame):
    """A frame with a heading that opens and closes it; without a title a plain frame.

    Signals
    -------
    asked(bool)
        A hand opened (or closed) it.
    """

    asked = Signal(bool)

    def __init__(self, title: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        set_role(self, "card")
        self.title = title
        outer = QVBoxLayout(self)
        outer.setContentsMargins(10, 4 if title else 8, 10, 8)
        outer.setSpacing(2)
        self.heading: QToolButton | None = None
        if title:
            self.heading = QToolButton()
            self.heading.setText(title)
            self.heading.setCheckable(True)
            self.heading.setChecked(True)
            self.heading.setAutoRaise(True)
            self.heading.setArrowType(Qt.ArrowType.DownArrow)
            self.heading.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
            set_tip(self.heading, translate("pages", "Open or close this part of the page"))
            set_role(self.heading, "section")
            self.heading.clicked.connect(self._clicked)
            outer.addWidget(self.heading)
        self.content = QWidget()
        self.body = QVBoxLayout(self.content)
        self.body.setContentsMargins(0, 2 if title else 0, 0, 2)
        self.body.setSpacing(8)
        outer.addWidget(self.content)

    def set_title(self, title: str) -> None:
        """Another title for a section that has one."""
        if self.heading is not None and title != self.title:
            self.title = title
            self.heading.setText(title)

    @property
    def is_open(self) -> bool:
        """True while what it holds is shown."""
        return not self.content.isHidden()

    def set_open(self, open_: bool) -> None:
        """Show or hide what it holds."""
        if self.heading is None or open_ == self.is_open:
            return
        self.content.setVisible(open_)
        self.heading.setChecked(open_)
        arrow = Qt.ArrowType.DownArrow if open_ else Qt.ArrowType.RightArrow
        self.heading.setArrowType(arrow)

    def height_of_content(self) -> int:
        """What it holds needs so many pixels, shown or not, at the present width."""
        margins = required(self.layout()).contentsMargins()  # of another width all is laid out anew
        width = max(self.contentsRect().marginsRemoved(margins).width(), 1)
        if self.body.hasHeightForWidth():
            return max(self.body.totalHeightForWidth(width), self.body.totalMinimumSize().height())
        return self.body.totalSizeHint().height()

    @guarded
    def minimumSizeHint(self) -> QSize:
        """A closed part keeps its width, so that opening it never widens the page."""
        size = super().minimumSizeHint()
        if self.is_open:
            return size
        return QSize(max(size.width(), self.body.totalMinimumSize().width() + 20), size.height())

    def _clicked(self, open_: bool) -> None:
        self.set_open(open_)
        self.asked.emit(open_)


class Sections(QObject):
    """Opens as many sections of a page as two screens hold: those a hand opened last come first,
    then in the order of the page. What a hand closed stays closed. Where there is room for all,
    all are open; the one with the keyboard is never closed."""

    _due = Signal()

    def __init__(self, page: QWidget, before: Callable[[int], None]) -> None:
        super().__init__(page)
        self._page = page
        self._before = before  # called with the height of the view: what is to be held to it
        self.main: Section | None = None
        """What the page is for: open at first, whatever else has to be shut for it."""
        self._wanted: list[Section] = []
        self._shut: set[Section] = set()
        self._watched: set[Section] = set()
        self._area: QScrollArea | None = None
        self._fitting = False
        self._fitted_px = -1
        self.held = False
        """Nothing is opened or closed but by hand."""
        self._to_fit = False
        self._due.connect(self._fit_due, Qt.ConnectionType.QueuedConnection)
        page.installEventFilter(self)

    def all(self) -> list[Section]:
        """The sections of the page that have a heading, in its order; none inside another."""
        found = []
        for section in self._page.findChildren(Section):
            if section.heading is not None and not _inside_another(section, self._page):
                found.append(section)
                if section not in self._watched:
                    self._watched.add(section)
                    section.asked.connect(self._asked)
        return found

    def reveal(self, widget: QWidget) -> None:
        """Open whatever a widget is in."""
        here: QWidget | None = widget
        while here is not None and here is not self._page:
            if isinstance(here, Section):
                self._want(here)  # also one that is open: what is asked for stays
                if not here.is_open:
                    here.set_open(True)
                    self.fit()
            here = here.parentWidget()

    def _asked(self, open_: bool) -> None:
        section = self.sender()
        assert isinstance(section, Section)
        if open_:
            self._want(section)
        else:
            self._shut.add(section)
            self._wanted = [s for s in self._wanted if s is not section]
        self.fit()

    def _want(self, section: Section) -> None:
        self._shut.discard(section)
        self._wanted = [section, *(s for s in self._wanted if s is not section)]

    def fit_soon(self) -> None:
        """Fit once control is back at the event loop, before anything is painted there."""
        if not self._to_fit:
            self._to_fit = True
            self._due.emit()

    def _fit_due(self) -> None:
        due, self._to_fit = self._to_fit, False
        if due and not self.held:
            self.fit()

    def fit(self) -> None:
        """Open and close, for the height there is, and lay out what that moves."""
        self._to_fit = False
        area = self._scroll_area()
        if area is None or self._fitting or not self._page.isVisible():
            return
        self._fitting = True
        try:
            self._fit(max(area.viewport().height(), _LEAST_PX))
        finally:
            self._fitting = False

    def _fit(self, seen_px: int) -> None:
        lay_out()
        self._before(seen_px)
        heights = self._heights()
        there, room = list(heights), self._room_px(seen_px, heights)
        focus = QApplication.focusWidget()
        held = [s for s in there if focus is not None and s.content.isAncestorOf(focus)]
        first = [s for s in (*self._wanted, self.main) if s is not None and s in heights]
        for section in _once([*first[:1], *held, *first, *there]):
            kept = section in held or section is next(iter(first), None)
            open_ = section not in self._shut and (kept or heights[section] <= room)
            if open_:
                room -= heights[section]
            section.set_open(open_)
        lay_out()
        self._fitted_px = self._long_px()

    def _heights(self) -> dict[Section, int]:
        """What each part that is there takes when it is open."""
        there = [s for s in self.all() if s.isVisibleTo(self._page)]
        return {section: section.height_of_content() + 2 for section in there}

    def _room_px(self, seen_px: int, heights: dict[Section, int]) -> float:
        """What open parts may take together."""
        required(self._page.layout()).activate()
        closed_px = self._long_px() - sum(px for s, px in heights.items() if s.is_open)
        return SCREENS * seen_px - closed_px

    def spare_px(self, seen_px: int) -> float:
        """By how much the main part may grow, or (negative) has to give way, alone open."""
        heights = self._heights()
        taken = heights.get(self.main, 0) if self.main is not None else 0
        return self._room_px(seen_px, heights) - taken

    def _long_px(self) -> int:
        """How tall the page has to be at its width."""
        layout = required(self._page.layout())
        if layout.hasHeightForWidth():
            return layout.totalHeightForWidth(self._page.width())
        return layout.totalSizeHint().height()

    def _scroll_area(self) -> QScrollArea | None:
        if self._area is None:
            above = self._page.parentWidget()
            while above is not None and not isinstance(above, QScrollArea):
                above = above.parentWidget()
            self._area = above
            if above is not None:
                above.viewport().installEventFilter(self)
        return self._area

    def stop(self) -> None:
        """Watch no more: a page that Qt is taking down must not ask Python."""
        self._to_fit = False
        self._page.removeEventFilter(self)
        if self._area is not None:
            self._area.viewport().removeEventFilter(self)

    @guarded
    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        kind = event.type()
        if watched is not self._page:
            if kind == QEvent.Type.Resize:
                self.fit_soon()
        elif kind == QEvent.Type.Show:
            self._scroll_area()
            self.fit_soon()
        elif kind == QEvent.Type.LayoutRequest and self._too_long():
            self.fit_soon()
        return False

    def _too_long(self) -> bool:
        area = self._area
        if area is None or self._fitting:
            return False
        long_px = self._long_px()
        return long_px != self._fitted_px and long_px > SCREENS * area.viewport().height()


def _inside_another(section: Section, page: QWidget) -> bool:
    above = section.parentWidget()
    while above is not None and above is not page:
        if isinstance(above, Section) and above.heading is not None:
            return True
        above = above.parentWidget()
    return False


def _once(sections: Sequence[Section]) -> list[Section]:
    return list(dict.fromkeys(sections))
