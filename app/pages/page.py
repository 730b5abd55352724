"""What all pages share: a heading, what is wrong, groups of fields, and finding a field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QLineEdit,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.messages import sentence
from bobweight.app.messages.lacking import blank_reasons, is_blank
from bobweight.app.pages import ENTRIES
from bobweight.app.store import Store
from bobweight.app.store.display import Display
from bobweight.app.store.outcome_feed import OutcomeFeed
from bobweight.app.theme import set_role, theme_for
from bobweight.app.widgets.card import card
from bobweight.app.widgets.follower import Follower
from bobweight.app.widgets.plain import PlainLabel, RichLabel, escaped, hanging
from bobweight.app.widgets.section import Section, Sections
from bobweight.app.widgets.table import HeldTable
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import Path, Problem, required
from bobweight.core.record import get, parameter_at

if TYPE_CHECKING:  # the page first shown has none
    from bobweight.app.editors.field import Field

_AT_THE_FIELD = ("unusual",)  # said below the field already
_SENTENCES = 6
_MARGIN_PX = 24
_ABOUT_A_TABLE, _TABLE_LINES = 9, 26  # in lines of words
_TABLE_SHARE = 0.47  # of the view's height: its heading, summary and buttons are seen with it


class ProblemBox(RichLabel):
    """What is wrong on a page, a sentence each, with a link to the field.

    Signals
    -------
    asked(path)
        A link was followed.
    """

    asked = Signal(object)

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._store, self._feed, self._display = store, feed, display
        self._problems: tuple[Problem, ...] = ()
        self._paths: list[Path] = []
        self.setWordWrap(True)
        self.setAccessibleName(translate("pages", "What is wrong on this page"))
        self.linkActivated.connect(self._follow)
        self.hide()

    def show_problems(self, problems: tuple[Problem, ...]) -> None:
        """Show these; hides itself for none."""
        if not problems and not self._problems and self.isHidden():
            return
        self._problems = problems
        docket, show = self._store.docket, translate("pages", "Show")
        theme = theme_for()
        colours = {"▲": theme.wrong, "△": theme.advice, "○": theme.advice}
        blank = [p for p in problems if p.grave and is_blank(p)]
        others = [p for p in problems if p not in blank and p.code not in _AT_THE_FIELD]
        others.sort(key=lambda p: not p.grave)
        lines: list[tuple[str, str, Path]] = []
        for problem in others[:_SENTENCES]:
            sign = "▲" if problem.grave else "△"
            lines.append((sign, sentence(problem, docket, self._display), problem.path))
        if blank:
            reasons = blank_reasons(self._feed.outcome, blank, self._feed.decisions.doubts)
            graver = sum(p.grave for p in others[:_SENTENCES])
            lines[graver:graver] = [(each.sign, each.text, each.path) for each in reasons]
        self._paths = [path for _, _, path in lines]
        texts = [
            f'<p style="{hanging(f"{sign} ", self.fontMetrics())}">'
            f'<span style="color: {colours[sign]}">{sign} {escaped(text)}</span> '
            f'<a href="{index}">{escaped(show)}</a></p>'
            for index, (sign, text, _) in enumerate(lines)
        ]
        if len(others) > _SENTENCES:
            more = translate("pages", "and {count} more.").format(count=len(others) - _SENTENCES)
            texts.append(f"<p>{escaped(more)}</p>")
        self.setText("".join(texts))
        self.setAccessibleDescription(" ".join(text for _, text, _ in lines))
        self.take_links(bool(texts))
        self.setVisible(bool(texts))

    def _follow(self, link: str) -> None:
        self.asked.emit(self._paths[int(link)])


class Page(Follower):
    """One page. Subclasses name ``key`` and ``roots`` and fill ``body``.

    ``roots`` are the paths in the docket that the page edits.

    Signals
    -------
    timing_asked()
        Readings are to be taken with the timing light.
    """

    timing_asked = Signal()
    key = ""
    roots: tuple[Path, ...] = ()

    def __init__(
        self, store: Store, feed: OutcomeFeed, display: Display, parent: QWidget | None = None
    ) -> None:
        super().__init__(store, feed, display, parent)
        self.body = QVBoxLayout(self)
        self.body.setContentsMargins(12, 12, 12, 14)
        self.body.setSpacing(12)
        self.heading = PlainLabel(ENTRIES[self.key].shown_title())
        set_role(self.heading, "heading")
        self.body.addWidget(self.heading)
        self.problem_box = ProblemBox(store, feed, display, self)
        self.problem_box.asked.connect(self.focus_path)
        self.body.addWidget(self.problem_box)
        self.sections = Sections(self, self._hold_tables)
        self.build()
        self.body.addStretch(1)
        self._doubted: tuple[Path, ...] | None = None
        feed.decisions.changed.connect(self._doubt_told)
        self.follow()

    @classmethod
    def state_of(cls, feed: OutcomeFeed) -> str:
        """``empty``, ``begun``, ``wrong`` or ``done``, from the outcome alone."""
        docket = feed.outcome.docket
        if all(is_empty(docket, root) for root in cls.roots):
            return "empty"
        return cls.state_of_filled(feed)

    @classmethod
    def state_of_filled(cls, feed: OutcomeFeed) -> str:
        """``wrong`` if a value cannot be, ``begun`` while something is wanting, else ``done``."""
        grave = [p for p in cls.problems_of(feed) if p.grave]
        if not all(is_blank(p) for p in grave):
            return "wrong"
        return "begun" if grave or cls.wanting(feed) else "done"

    @classmethod
    def wanting(cls, _feed: OutcomeFeed) -> bool:
        """True while a page with something on it still lacks what makes it complete."""
        return False

    @classmethod
    def problems_of(cls, feed: OutcomeFeed) -> tuple[Problem, ...]:
        """The problems of what the page edits."""
        return tuple(p for root in cls.roots for p in feed.outcome.problems_at(*root))

    def state(self) -> str:
        """``empty``, ``begun``, ``wrong`` or ``done``."""
        return self.state_of(self.feed)

    def build(self) -> None:
        """Fill the page."""

    def follow(self) -> None:
        """The docket or its outcome changed."""
        empty = self.state() == "empty"
        self._doubted = self.feed.decisions.doubts
        self.problem_box.show_problems(() if empty else self.problems_of(self.feed))

    def _doubt_told(self) -> None:
        """Why nothing is predicted is another reason once a figure is doubted, or no longer."""
        if self.feed.decisions.doubts != self._doubted:
            self.follow_when_seen()

    def close_down(self) -> None:
        """The window closes, or the page goes: stop what runs."""

    def add_group(self, title: str, *widgets: QWidget) -> Section:
        """A titled group of widgets, one below the other."""
        frame = card(title, *widgets)
        self.body.addWidget(frame)
        return frame

    def focus_path(self, path: Path) -> bool:
        """Give the keyboard to the field at a path, or the first one inside it, and show it. False
        if there is none on this page."""
        from bobweight.app.editors.table import RecordTable

        self.feed.tell()  # the field may come with the last edit
        fields = self._fields()
        exact = next((f for f in fields if f.path == path), None)
        if exact is not None:
            return self._focus_field(exact)
        for table in self.findChildren(RecordTable):
            inside = path[: len(table.model.path)] == table.model.path
            rest = path[len(table.model.path) :]
            inside &= not rest[1:] or rest[1] in table.model.keys  # another may have the column
            if inside and self._is_offered(table):
                self.sections.reveal(table)
                table.focus_row(int(rest[0]) if rest else 0, str(rest[1]) if rest[1:] else None)
                view = table.view
                self.sections.fit()
                view.scrollTo(view.currentIndex())
                self.bring_into_view(view.viewport())
                return True
        within = [f for f in fields if f.path[: len(path)] == path]
        numbers = [f for f in within if f.parameter.kind == "number"]
        first = next(iter(numbers or within), None)
        return first is not None and self._focus_field(first)

    def begins_at(self) -> QWidget | None:
        """What takes the keyboard as the page is opened; None for its first field."""
        return None

    def add_another(self) -> None:
        """Add another of what the page has several of, if it has."""

    def parts_of_page(self) -> list[Section]:
        """The parts that are offered, open or not, as they stand one below the other."""
        offered = [s for s in self.sections.all() if self._is_offered(s)]
        return sorted(offered, key=lambda part: part.mapTo(self, QPoint()).y())

    def focus_part(self, step: int) -> bool:
        """Open the next part of the page (``step`` 1) or the one before (−1), and give the keyboard
        to its first field. False if the page has no parts."""
        parts = self.parts_of_page()
        focus = QApplication.focusWidget()
        if not parts:
            return False
        ahead = len(parts) if step > 0 else -1  # from below the last, or outside of the page
        if focus is not None and self.isAncestorOf(focus):
            height = focus.mapTo(self, QPoint()).y()
            tops = [part.mapTo(self, QPoint()).y() for part in parts]
            above = sum(top <= height for top in tops)
            inside = above > 0 and parts[above - 1].isAncestorOf(focus)
            ahead = above if step > 0 else above - 1 - inside
        elif step > 0:
            ahead = 0
        part = parts[ahead % len(parts)]
        self.sections.reveal(part.content)
        takers = [w for w in part.content.findChildren(QWidget) if _takes_keyboard(w)]
        fields = [w for w in takers if not isinstance(w, QAbstractButton) or w.isCheckable()]
        first = next(iter([*fields, *takers, required(part.heading)]))
        first.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if isinstance(first, QLineEdit):
            first.selectAll()
        self.bring_into_view(part if first is part.heading else first)
        return True

    def _hold_tables(self, seen_px: int) -> None:
        """A table has its share of the view's height, and no more; that of the page's main part, in
        a low view, what the words and buttons about it leave."""
        share, line = int(_TABLE_SHARE * seen_px), self.fontMetrics().lineSpacing()
        least = min(seen_px - _ABOUT_A_TABLE * line, _TABLE_LINES * line)
        main = self.sections.main
        for table in self.findChildren(HeldTable):
            in_main = main is not None and main.isAncestorOf(table)
            spare = int(table.held_px() + self.sections.spare_px(seen_px)) if in_main else 0
            table.hold_to(max(share, min(least, spare)) if in_main else share)

    def _is_offered(self, widget: QWidget) -> bool:
        """True for what is seen, or would be if the part of the page it is in were open."""
        here, page = widget, self
        while here is not page:
            above = here.parentWidget()
            if above is None:
                return False
            shut = isinstance(above, Section) and here is above.content
            if here.isHidden() and not shut:
                return False
            here = above
        return True

    def _focus_field(self, found: Field) -> bool:
        self.sections.reveal(found)
        found.focus()
        self.bring_into_view(found)
        return True

    def scroll_area(self) -> QScrollArea | None:
        """What scrolls the page, if anything does."""
        area = self.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        return area

    def bring_into_view(self, part: QWidget) -> None:
        """Scroll the page until a part of it is seen, before it is painted, and again once all that
        was added is laid out."""
        area = self.scroll_area()
        if area is None:
            return

        def scroll() -> None:
            rect = part.rect()
            middle = part.mapTo(self, rect.center())
            area.ensureVisible(middle.x(), middle.y(), 0, rect.height() // 2 + _MARGIN_PX)

        self.sections.fit()
        scroll()
        QTimer.singleShot(0, part, scroll)

    def commit(self) -> bool:
        """Take whatever is still being typed. False if something was refused."""
        return all([f.commit() for f in self._fields()])

    def _fields(self) -> list[Field]:
        from bobweight.app.editors.field import Field

        return [f for f in self.findChildren(Field) if self._is_offered(f)]


def _takes_keyboard(widget: QWidget) -> bool:
    tab = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
    return tab and widget.isVisible() and widget.isEnabled()


def is_empty(docket: Docket, root: Path) -> bool:
    """True if nothing has been entered at a path."""
    value = get(docket, root)
    parameter = parameter_at(docket, root)
    if isinstance(value, tuple):
        return all(item == required(parameter.record)() for item in value)
    return value == parameter.record() if parameter.record else value == parameter.default
