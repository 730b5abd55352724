"""The window in which the manual is read, searched and printed."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QMarginsF, Qt, QUrl
from PySide6.QtGui import (
    QFont,
    QImage,
    QKeySequence,
    QPageLayout,
    QPageSize,
    QShortcut,
    QTextCursor,
    QTextDocument,
    QTextFormat,
)
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QTextBrowser,
    QVBoxLayout,
    QWidget,
)

from bobweight.app import typeface
from bobweight.app.guard import guarded
from bobweight.app.manual import CHAPTERS, chapter_text, chapter_title, found_in, picture
from bobweight.app.messages import sentence
from bobweight.app.store.display import Display
from bobweight.app.store.images import byte_buffer
from bobweight.app.theme import set_role, theme_for
from bobweight.app.widgets.dialogs import Dialogs, open_at
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.words import translate
from bobweight.core.docket.docket import Docket
from bobweight.core.problems import BobweightError

_PAGE_MM = 165.0
"""Width of a picture on paper."""
_PAPER_PT = 10.0


class _Text(QTextBrowser):
    """A chapter; pictures come from the package and are never wider than the page."""

    @guarded
    def loadResource(self, kind: int, name: QUrl | str) -> object:
        found = picture(QUrl(name).fileName())
        if kind != QTextDocument.ResourceType.ImageResource.value or found is None:
            return None  # nothing is read from anywhere else
        image = QImage.fromData(QByteArray(found))
        ratio = self.devicePixelRatioF()
        room = round(max(self.viewport().width() - 40, 200) * ratio)
        if image.width() > room:
            image = image.scaledToWidth(room, Qt.TransformationMode.SmoothTransformation)
        image.setDevicePixelRatio(ratio)
        return image


class _Paper(QTextDocument):
    """The manual as it is printed: pictures as wide as the page, with all their pixels."""

    @guarded
    def loadResource(self, kind: int, name: QUrl | str) -> object:
        found = picture(QUrl(name).fileName())
        if kind != QTextDocument.ResourceType.ImageResource.value or found is None:
            return None
        image = QImage.fromData(QByteArray(found))
        image.setDevicePixelRatio(image.width() / (_PAGE_MM / 25.4 * 96))
        return image


class ManualWindow(QDialog):
    """Chapters on the left, found by any word; the chapter on the right."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(translate("manual", "Manual"))
        self.setModal(False)
        self.dialogs = Dialogs()
        open_at(self, 980, 680)
        self.search = QLineEdit()
        self.search.setPlaceholderText(translate("manual", "Find a word"))
        self.search.setAccessibleName(translate("manual", "Find a word in the manual"))
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._search)
        self.search.returnPressed.connect(self._next)
        self.chapters = QListWidget()
        self.chapters.setAccessibleName(translate("manual", "Chapters"))
        self.chapters.setWordWrap(True)
        self.chapters.setSpacing(3)  # or an entry of two lines looks like two
        self.chapters.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.chapters.currentItemChanged.connect(self._chosen)
        self.none = PlainLabel(translate("manual", "Found in no chapter."))
        set_role(self.none, "faint")
        self.none.hide()
        self.print_button = QPushButton(translate("manual", "Save as PDF…"))
        self.print_button.setAutoDefault(False)
        self.print_button.clicked.connect(self.save)
        self.text = _Text()
        self.text.setOpenLinks(False)
        self.text.setAccessibleName(translate("manual", "The chapter"))
        side = QVBoxLayout()
        for widget in (self.search, self.none, self.chapters, self.print_button):
            side.addWidget(widget)
        layout = QHBoxLayout(self)
        layout.addLayout(side, 1)
        layout.addWidget(self.text, 3)
        QShortcut(QKeySequence.StandardKey.Find, self, self.search.setFocus)
        self._fill(CHAPTERS)

    def show_chapter(self, key: str) -> None:
        """Open the chapter of a key; the first one where there is none of it."""
        self.search.clear()
        row = CHAPTERS.index(key) if key in CHAPTERS else 0
        self.chapters.setCurrentRow(row)

    def save(self) -> None:
        """Ask where the manual goes as a PDF file, and write it."""
        title = translate("manual", "Save the manual")
        suggestion = Path.home() / translate("manual", "bobweight-manual.pdf")
        path = self.dialogs.save_pdf(self, title, suggestion)
        if path is None:
            return
        try:
            write_manual(path)
        except BobweightError as error:
            self.none.setText(sentence(error.problem, Docket(), Display()))
            self.none.show()

    def _fill(self, keys: tuple[str, ...] | list[str]) -> None:
        before = self._key()
        self.chapters.clear()
        for key in keys:
            item = QListWidgetItem(chapter_title(key))
            item.setData(Qt.ItemDataRole.UserRole, key)
            self.chapters.addItem(item)
        if keys:
            self.chapters.setCurrentRow(list(keys).index(before) if before in keys else 0)
        self.none.setVisible(not keys)

    def _key(self) -> str:
        item = self.chapters.currentItem()
        return item.data(Qt.ItemDataRole.UserRole) if item is not None else ""

    def _search(self, words: str) -> None:
        self._fill(found_in(words) if words.strip() else CHAPTERS)
        self._next()

    def _next(self) -> None:
        """Go to the next place of the first word."""
        words = self.search.text().split()
        if words and not self.text.find(words[0]):
            self.text.moveCursor(QTextCursor.MoveOperation.Start)
            self.text.find(words[0])

    def _chosen(self, *_items: object) -> None:
        key = self._key()
        if key:
            self.text.document().setDefaultStyleSheet(_style(theme_for(self.palette()).accent))
            self.text.setMarkdown(chapter_text(key))
            self.text.moveCursor(QTextCursor.MoveOperation.Start)


def _style(accent: str) -> str:
    return f"h1, h2 {{ color: {accent}; }}"


def _begin_pages(document: QTextDocument) -> None:
    """A chapter begins a page."""
    cursor, block = QTextCursor(document), document.begin().next()
    while block.isValid():
        form = block.blockFormat()
        if form.headingLevel() == 1:
            form.setPageBreakPolicy(QTextFormat.PageBreakFlag.PageBreak_AlwaysBefore)
            cursor.setPosition(block.position())
            cursor.setBlockFormat(form)
        block = block.next()


def write_manual(path: Path) -> None:
    """Write the whole manual as a PDF file on A4.

    Raises
    ------
    BobweightError
        As :func:`core.docket.file.write_atomically`.
    """
    from PySide6.QtGui import QPdfWriter

    from bobweight.core.docket.file import write_atomically

    data, buffer = byte_buffer()
    writer = QPdfWriter(buffer)
    writer.setResolution(150)  # before the page, or Qt lays it out at 1200
    # No margins here and no page size on the document: then Qt keeps its own and numbers the pages.
    writer.setPageLayout(
        QPageLayout(
            QPageSize(QPageSize.PageSizeId.A4), QPageLayout.Orientation.Portrait, QMarginsF()
        )
    )  # fmt: skip
    writer.setTitle(translate("manual", "Bobweight: manual"))
    document = _Paper()
    font = QFont(typeface.load())
    font.setPointSizeF(_PAPER_PT)
    document.setDefaultFont(font)
    document.setMarkdown("\n\n".join(chapter_text(key) for key in CHAPTERS))
    _begin_pages(document)
    document.print_(writer)
    buffer.close()
    write_atomically(path, bytes(data.data()))
