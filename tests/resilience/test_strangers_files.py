"""A docket from the post can run, fetch, read and write nothing; what is in it is shown as text."""

from __future__ import annotations

import os
import re
import struct
import zlib
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from bobweight import app
from bobweight.app.store.photographs import Photographs, folder_of, is_own_file
from bobweight.app.widgets.picture_file import read_picture
from bobweight.app.widgets.plain import HungLabel, PlainLabel, RichLabel, set_tip, tip_text
from bobweight.app.words import visible
from bobweight.core.docket.photographs import Photograph, is_plain_name
from bobweight.core.record import Record, parameters, replace
from tests.samples import sample

SOURCES = sorted(Path(app.__path__[0]).rglob("*.py"))
ALONE = "plain.py"
POISON = '<img src="file:///dev/zero"><b>bold</b>&amp; <a href="file:///etc/passwd">x</a>'


@pytest.mark.parametrize(
    "pattern",
    [r"\bQLabel\(", r"\(QLabel\)", r"\.setToolTip\(", r"\.setTextFormat\(", r"\bQMessageBox\(",
     r"QMessageBox\.(about|information|question|warning|critical)\(", r"\.setHtml\(",
     r"\.setWhatsThis\(", r"\.setStatusTip\(", r"QToolTip\.showText\(", r"\bQTextBrowser\b",
     r"\bQTextEdit\b", r"setOpenExternalLinks", r"\bQDesktopServices\b", r"\beval\(", r"\bpickle\b",
     r"\bexec\(\s*[\"'f]", r"\bos\.system\b"],
)  # fmt: skip
def test_text_is_shown_by_the_plain_label_tip_and_box_alone(pattern):
    found = [
        f"{path.name}:{number}: {line.strip()}"
        for path in SOURCES
        if path.name != ALONE and path.parent.name != "manual"  # its own text, by its own rules
        for number, line in enumerate(path.read_text("utf-8").splitlines(), 1)
        if re.search(pattern, line)
    ]
    allowed = ("setTextFormat(Qt.TextFormat.PlainText)", "made.setHtml(escaped")
    assert [line for line in found if not any(each in line for each in allowed)] == []


def test_the_program_that_makes_links_escapes_what_it_is_given():
    for path in SOURCES:
        text = path.read_text("utf-8")
        if "<a href" in text or "<span" in text:
            assert "escaped(" in text, path


def poisoned(record: Record) -> Record:
    """Every text of a record and of those in it, poisoned."""
    changed = {}
    for key, parameter in parameters(record).items():
        value = getattr(record, key)
        if parameter.kind == "text":
            changed[key] = POISON
        elif parameter.kind == "one":
            changed[key] = poisoned(value)
        elif parameter.kind == "many":
            changed[key] = tuple(poisoned(row) for row in value)
    return replace(record, **changed)


def test_no_label_of_any_page_takes_a_strangers_text_for_markup(qtbot, window):
    shown: list[tuple[str, str]] = []
    docket = poisoned(sample("weak_primary"))
    docket = docket.with_changes(photographs=(Photograph(file=POISON, caption=POISON),))
    window.store.open_docket(docket, None)
    for key in window.titles:
        window.show_page(key)
        QApplication.processEvents()
        for label in window.findChildren(QLabel):
            text = QLabel.text(label)  # what Qt was given
            if label.textFormat() == Qt.TextFormat.RichText:
                assert isinstance(label, RichLabel | HungLabel)
                if "<img" in text or "<b>" in text:
                    shown.append((key, text[:80]))
            elif "<img" in text and label.textFormat() != Qt.TextFormat.PlainText:
                shown.append((key, text[:80]))
        for widget in window.findChildren(QWidget):
            tip = widget.toolTip()
            if "<img" in tip:
                shown.append((key, f"tip {tip[:80]}"))
    assert shown == []
    window.store.undo_stack.clear()


def test_a_tip_is_shown_as_text(qtbot):
    widget = PlainLabel("x")
    qtbot.addWidget(widget)
    set_tip(widget, POISON)
    assert "<img" not in widget.toolTip() and "&lt;img" in widget.toolTip()
    set_tip(widget, "5 > 4 & more")
    assert widget.toolTip() == "5 > 4 & more"
    assert len(tip_text("x" * 1_000_000)) < 1000


@pytest.mark.parametrize(
    ("text", "shown"),
    [("\u202egnp.exe", "⟨RLO⟩gnp.exe"), ("a\x07b", "a⟨07⟩b"), ("a\x1b[2J", "a⟨1B⟩[2J"),
     ("\u2066x\u2069", "⟨LRI⟩x⟨PDI⟩"), ("tab\tline\n", "tab\tline\n"), ("\x00", "⟨00⟩"),
     ("Zündung №1 𝄞", "Zündung №1 𝄞")],
)  # fmt: skip
def test_signs_that_control_or_turn_are_shown_as_such(text, shown):
    assert visible(text) == shown


def test_a_title_of_a_hundred_pages_is_cut_where_it_is_shown_only(qtbot, window):
    title = "long " * 50_000
    docket = sample("weak_primary")
    docket = docket.with_changes(particulars=docket.particulars.with_changes(title=title))
    window.store.open_docket(docket, None)
    for key in window.titles:
        window.show_page(key)
        QApplication.processEvents()
        assert all(len(label.text()) < 5000 for label in window.findChildren(PlainLabel))
    assert len(window.windowTitle()) < 300
    window.commit()
    assert window.store.docket.particulars.title == title and not window.store.dirty


NAMES = [
    "..", ".", "", " ", "../x.png", "..\\x.png", "/etc/passwd", "C:\\x.png", "C:x.png", "x.png:ads",
    "\\\\server\\share\\x.png", "//server/x.png", "~/x.png", "a/b.png", "x\0.png", "CON", "con.png",
    "NUL", "COM1.jpg", "LPT9", "aux.", "x.png ", " x.png", "x.png.", "x?.png", "x*.png", "x|y.png",
    "<x>.png", '"x".png', "x\n.png", "x\u202egnp.png", "file:x.png", "." * 5, "x" * 300,
]  # fmt: skip


def test_an_attached_name_stays_in_the_folder(qapp, window, tmp_path):
    window.store.open_docket(sample("weak_primary"), tmp_path / "mine.docket")
    assert [name for name in NAMES if is_plain_name(name)] == []
    keeper = Photographs.of(window.store)
    assert [name for name in NAMES if keeper.path_of_name(name) is not None] == []


@pytest.mark.parametrize("name", ["x.png", "Nocken №1.jpg", "a b (2).jpeg", "console.png"])
def test_a_plain_name_is_taken(name):
    assert is_plain_name(name)


def test_a_link_in_a_received_folder_is_not_followed(window, tmp_path, own_home):
    secret = tmp_path / "secret"
    secret.write_bytes(b"secret")
    docket = sample("weak_primary").with_changes(photographs=(Photograph(file="x.png"),))
    path = tmp_path / "mine.docket"
    folder = folder_of(path)
    folder.mkdir()
    os.symlink(secret, folder / "x.png")
    window.store.open_docket(docket, path)
    keeper = Photographs.of(window.store)
    assert keeper.path_of_name(docket.photographs[0].file) is None
    assert read_picture(folder / "x.png") is None
    window.store.mark_saved(tmp_path / "other.docket")
    assert not (tmp_path / "other.photos" / "x.png").exists()
    whole = tmp_path / "third.photos"
    os.symlink(folder, whole)
    assert not is_own_file(whole / "x.png")


def png(width: int, height: int) -> bytes:
    """The header of a PNG that claims a size, with hardly any picture in it."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        check = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", check)

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def test_a_picture_bomb_is_refused_by_its_header(qapp, tmp_path):
    for number, (width, height) in enumerate([(100_000, 100_000), (29_000, 29_000), (1, 40_000)]):
        path = tmp_path / f"{number}.png"
        path.write_bytes(png(width, height))
        assert read_picture(path) is None


def test_only_what_a_camera_makes_is_read_as_a_picture(qapp, tmp_path):
    good = tmp_path / "good.jpg"
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.red)
    assert image.save(str(good))
    assert read_picture(good).width() == 400
    drawing = tmp_path / "drawing.png"
    drawing.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
        '<image href="file:///dev/zero" width="9" height="9"/></svg>'
    )
    assert read_picture(drawing) is None
    os.mkfifo(tmp_path / "pipe.png")
    assert read_picture(tmp_path / "pipe.png") is None
    assert read_picture(tmp_path / "none.png") is None
    os.symlink("/dev/zero", tmp_path / "endless.png")
    assert read_picture(tmp_path / "endless.png") is None
