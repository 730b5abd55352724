"""The photographs of a docket: pictures, what they show, and what is missing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QImage, QPixmap
from PySide6.QtWidgets import (
    QFileDialog,
    QFrame,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from bobweight.app.editors.form import Form
from bobweight.app.messages import sentence
from bobweight.app.store import Change, Store
from bobweight.app.store.disk import Arrivals
from bobweight.app.store.display import Display
from bobweight.app.store.photographs import KINDS, Photographs, found_in
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import button, shorten, stacked
from bobweight.app.widgets.picture_file import read_picture
from bobweight.app.widgets.plain import PlainLabel
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import translate
from bobweight.core.docket.photographs import Photograph
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

_PATH = ("photographs",)
_SMALL_PX = 150


class Look(NamedTuple):
    """A photograph to be looked for: its place in the docket, its file, the folders, where it was
    found before, and the dots of the screen for each of the window's."""

    place: int
    file: str
    folders: tuple[Path, ...]
    known: Path | None
    ratio: float


class LocatedPicture(NamedTuple):
    """What was found of it."""

    path: Path | None
    image: QImage | None


class PhotographCard(QFrame):
    """One photograph, small, with its caption; or the sentence that it is missing."""

    def __init__(self, view: PhotographsView, index: int) -> None:
        super().__init__(view)
        self._view = view
        self.index = index
        set_role(self, "card")
        self.picture = PlainLabel()
        # Its room is kept from the beginning: to lay a card out anew costs as much as there are.
        self.picture.setFixedSize(_SMALL_PX, _SMALL_PX)
        self.picture.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.picture.setWordWrap(True)
        self.file = AnswerLabel("faint")
        self.missing = AnswerLabel("advice")
        self.remove_button = button(
            translate("pages", "Remove"),
            translate("pages", "Take it out of the docket. The copy stays in the folder."),
            self._remove,
        )
        beside = QVBoxLayout()
        beside.addWidget(self.file)
        beside.addWidget(self.missing)
        beside.addWidget(self.remove_button, 0, Qt.AlignmentFlag.AlignLeft)
        beside.addStretch(1)
        self._layout = QVBoxLayout(self)
        row = QHBoxLayout()
        row.addWidget(self.picture, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(beside, 1)
        self._layout.addLayout(row)
        self._layout.addWidget(
            Form(Photograph, (*_PATH, index), ("caption", "taken"), view.store, view.display)
        )
        self._shown: tuple[str, Path | None] | None = None
        self.file.setText(view.store.docket.photographs[index].file)

    def wanted(self) -> Look:
        """Name the photograph as the docket now has it; what is to be looked for."""
        photograph = self._view.store.docket.photographs[self.index]
        name = translate("pages", "Remove photograph {number}").format(number=self.index + 1)
        self.remove_button.setAccessibleName(name)
        if self._shown is None or self._shown[0] != photograph.file:
            self._shown = None
            self.file.setText(photograph.file)
            self.picture.setText(translate("pages", "Its folder has not answered yet."))
            self.picture.show()
            self.missing.setText("")
        known = self._shown[1] if self._shown else None
        return Look(self.index, photograph.file, self._view.keeper.folders, known,
                    self.devicePixelRatioF())  # fmt: skip

    def show_found(self, look: Look, found: LocatedPicture) -> None:
        """Show what was found, if it is still this that is shown."""
        photographs = self._view.store.docket.photographs
        if self.index >= len(photographs) or photographs[self.index].file != look.file:
            return
        photograph, path = photographs[self.index], found.path
        if self._shown == (photograph.file, path):
            return
        self._shown = (photograph.file, path)
        small = None
        if found.image is not None:
            small = QPixmap.fromImage(found.image)
            small.setDevicePixelRatio(look.ratio)
        said = ""
        if path is None:
            said = translate(
                "pages",
                "△ “{file}” is missing. Put it back into the folder “{folder}”, or remove it here.",
            ).format(file=photograph.file, folder=self._view.keeper.folder.name)
        elif small is None:
            said = translate("pages", "△ “{file}” is there but cannot be shown.").format(
                file=photograph.file
            )
        self.missing.show_text(said)
        self.picture.setVisible(small is not None)
        if small is not None:
            self.picture.setPixmap(small)
            caption = photograph.caption or photograph.file
            self.picture.setAccessibleName(
                translate("pages", "Photograph: {caption}").format(caption=caption)
            )

    def _remove(self) -> None:
        self._view.remove(self.index)


def _look(look: Look) -> LocatedPicture:
    """The copy and a picture as small as it is shown, turned as the camera says; no picture if it
    cannot be read, or is shown already."""
    path = found_in(look.folders, look.file)
    if path is None or path == look.known:
        return LocatedPicture(path, None)
    return LocatedPicture(path, read_picture(path, QSize(_SMALL_PX, _SMALL_PX) * look.ratio))


class PhotographsView(QWidget):
    """All photographs and the button that adds some.

    ``ask_files`` is the dialog; another may stand in for it.
    """

    def __init__(self, store: Store, display: Display) -> None:
        super().__init__()
        self.store = store
        self.display = display
        self.keeper = Photographs.of(store)
        self.arrivals = Arrivals(_look, self._found, self)
        self.ask_files: Callable[[QWidget], list[Path]] = _ask_files
        self.cards: list[PhotographCard] = []
        self.where = AnswerLabel("faint")
        self.said = AnswerLabel("wrong")
        self.said.hide()
        self.add_button = button(
            translate("pages", "Add photographs…"),
            translate("pages", "A copy is kept beside the docket’s file; yours is not touched."),
            self.add,
        )
        self._layout = stacked(self, self.where, self.said, spacing=8)
        self._layout.addWidget(self.add_button, 0, Qt.AlignmentFlag.AlignLeft)
        store.changed.connect(self._store_changed)
        store.file_changed.connect(self.follow)
        self.follow()

    def add(self) -> None:
        """Ask for pictures and attach them, as one edit; say which could not be."""
        attached, sentences = [], []
        for picture in self.ask_files(self):
            try:
                attached.append(self.keeper.attach(picture))
            except BobweightError as error:
                sentences.append("▲ " + sentence(error.problem))
        if attached:
            name = translate("pages", "Add {count} photographs").format(count=len(attached))
            self._put(name, (*self.store.docket.photographs, *attached))
        self.said.show_text("\n".join(sentences))

    def remove(self, index: int) -> None:
        """Take a photograph out of the docket."""
        kept = self.store.docket.photographs
        name = translate("pages", "Remove photograph {number}").format(number=index + 1)
        self._put(name, (*kept[:index], *kept[index + 1 :]))

    def _put(self, name: str, photographs: tuple[Photograph, ...]) -> None:
        self.store.replace(name, put(self.store.docket, _PATH, photographs))

    def _found(self, look: Look, found: LocatedPicture) -> None:
        if look.place < len(self.cards):
            self.cards[look.place].show_found(look, found)

    def _store_changed(self, change: Change) -> None:
        if change.touches(_PATH):
            self.follow()

    def follow(self) -> None:
        """Show what the docket has."""
        count = len(self.store.docket.photographs)
        shorten(self._layout, self.cards, count)
        while len(self.cards) < count:
            card = PhotographCard(self, len(self.cards))
            self.cards.append(card)
            self._layout.insertWidget(self._layout.indexOf(self.said), card)
            card.show()
        self.arrivals.ask([card.wanted() for card in self.cards])
        if self.store.file_path is None:
            text = translate("pages", "Copies wait with the settings until the docket is saved.")
        else:
            text = translate("pages", "Copies are kept in the folder “{folder}” beside the docket.")
            text = text.format(folder=self.keeper.folder.name)
        self.where.setText(text)


def _ask_files(parent: QWidget) -> list[Path]:
    kinds = " ".join(f"*{kind}" for kind in KINDS)
    title = translate("pages", "Add photographs")
    names, _ = QFileDialog.getOpenFileNames(
        parent,
        title,
        str(Path.home()),
        translate("pages", "Pictures") + f" ({kinds})",
    )
    return [Path(name) for name in names]
