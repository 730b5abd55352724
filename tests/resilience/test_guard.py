"""No exception of ours reaches Qt: every method that Qt calls is guarded, and what is caught is
told."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from PySide6.QtCore import QAbstractTableModel, QSize
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QTableView, QWidget

from bobweight import app
from bobweight.app import guard
from bobweight.app.guard import guarded


def classes_of_the_application() -> Iterator[type]:
    for found in pkgutil.walk_packages(app.__path__, "bobweight.app."):
        for thing in vars(importlib.import_module(found.name)).values():
            if inspect.isclass(thing) and thing.__module__ == found.name:
                yield thing


def qt_bases(kind: type) -> list[type]:
    return [base for base in kind.__mro__[1:] if base.__module__.startswith("PySide6.")]


def overrides(kind: type) -> Iterator[tuple[str, object]]:
    """The methods of a class that stand in the place of one of Qt's."""
    bases = qt_bases(kind)
    for name, function in vars(kind).items():
        own = inspect.isfunction(function) and not name.startswith("__")
        if own and any(name in vars(base) for base in bases):
            yield name, function


def test_every_method_that_qt_calls_is_guarded():
    found = [
        (f"{kind.__module__}.{kind.__qualname__}.{name}", getattr(function, "__guarded__", False))
        for kind in classes_of_the_application()
        for name, function in overrides(kind)
    ]
    assert len(found) > 100  # they are found at all
    assert [name for name, is_guarded in found if not is_guarded] == []


@cache
def written(file: str) -> ast.Module:
    return ast.parse(Path(file).read_text("utf-8"))


def attributes_set(kind: type) -> set[str]:
    """What the methods of a class (or of another of that name in its file) put under ``self``."""
    found = set()
    here = [
        each for each in ast.walk(written(inspect.getfile(kind)))
        if isinstance(each, ast.ClassDef) and each.name == kind.__name__
    ]  # fmt: skip
    for node in (node for each in here for node in ast.walk(each)):
        stored = isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store)
        if stored and isinstance(node.value, ast.Name) and node.value.id == "self":
            found.add(node.attr)
    return found


def test_no_attribute_of_ours_hides_a_method_of_qt():
    """A number called ``width`` would be what Qt's own users of the widget find for its width."""
    hiding = [
        f"{kind.__qualname__}.{name}"
        for kind in classes_of_the_application()
        for bases in [qt_bases(kind)]
        if bases
        for name in sorted(attributes_set(kind))
        if any(name in vars(base) for base in bases) and name not in vars(kind)
    ]
    assert hiding == []


class Sized(QWidget):
    def __init__(self) -> None:
        super().__init__()
        self.width = 3


def test_the_reading_of_attributes_finds_one_that_hides():
    assert attributes_set(Sized) == {"width"} and any("width" in vars(b) for b in qt_bases(Sized))


class Painted(QWidget):
    @guarded
    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        painter.drawLine(0, 0, 5, 5)
        raise IndexError("in the midst of painting")

    @guarded
    def sizeHint(self) -> QSize:
        raise ZeroDivisionError


class Rows(QAbstractTableModel):
    @guarded
    def rowCount(self, _parent=None) -> int:
        return 3

    @guarded
    def columnCount(self, _parent=None) -> int:
        return 3

    @guarded
    def data(self, _index, _role=0) -> object:
        return {}["nothing"]


@pytest.fixture
def told() -> Iterator[list[tuple[str, str]]]:
    heard: list[tuple[str, str]] = []

    def hear(error: BaseException, where: str) -> None:
        heard.append((type(error).__name__, where))

    before = list(guard._listeners)
    guard._listeners[:] = [hear]  # else the look-out of the tests fails this one
    yield heard
    guard._listeners[:] = before


def test_a_painter_that_fails_ends_and_the_window_lives(qtbot, told):
    widget = Painted()
    widget.resize(60, 40)
    qtbot.addWidget(widget)
    widget.show()
    for _ in range(5):
        widget.grab()
    assert not widget.paintingActive()
    assert widget.sizeHint() == QSize()
    assert ("IndexError", "Painted.paintEvent") in told
    assert ("ZeroDivisionError", "Painted.sizeHint") in told


def test_a_model_that_fails_shows_an_empty_cell(qtbot, told):
    view, model = QTableView(), Rows()
    view.setModel(model)
    qtbot.addWidget(view)
    view.show()
    view.grab()
    assert ("KeyError", "Rows.data") in told


def test_a_listener_in_trouble_does_no_harm(told):
    def bad(_error, _where) -> None:
        raise ValueError

    guard.listen(bad)
    guard.tell(IndexError(), "here")
    guard.unlisten(bad)
    assert told == [("IndexError", "here")]


def test_an_account_names_places_and_no_words_of_the_docket():
    secret = "the customer's name"
    try:
        {}[secret]
    except KeyError as error:
        said = guard.account(error, "here")
    assert "KeyError in here" in said and "test_guard.py" in said and secret not in said


def test_no_screen_is_asked_of_a_widget():
    """PySide takes the screen that a widget gives for a child of it, and deletes it with it: the
    next window then ends the process."""
    folder = Path(app.__file__).parent
    asking = [
        p.name for p in folder.rglob("*.py") if re.search(r"\.screen\(\)\.", p.read_text("utf-8"))
    ]
    assert asking == []
