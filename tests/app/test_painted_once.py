"""What is altered on a page is painted once: Qt would lay a table's columns out later, and
paint them a second time."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject

from tests.board.test_repaints import Painted
from tests.studies import room

MOST = ("target", "points", 4, "most_deg")


def test_a_table_whose_columns_change_their_width_is_painted_once(window, tmp_path):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.stack.load_all()
    room._work_done(window)
    table = window.page("verdict").comparison.view
    seen, widths = Painted(table=table.viewport()), set()
    for n in (1, 2, 3, 4):
        window.store.edit("Most", MOST, (13.5, 113.25)[n % 2])
        room.settle()
        widths.add(table.width())
        assert seen.count["table"] == n
    assert len(widths) > 1, "no column became wider or narrower"


def test_of_the_strip_the_page_whose_state_is_another_is_painted_alone(window, tmp_path):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.stack.load_all()
    room._work_done(window)
    strip, seen = window.strip.viewport(), Regions()
    before = window.strip.state_of("verdict")
    strip.installEventFilter(seen)
    window.store.edit("Least", ("target", "points", 1, "least_deg"), 4.4)
    room.settle()
    assert window.strip.state_of("verdict") != before
    assert seen.heights and max(seen.heights) < strip.height() // 2


class Regions(QObject):
    """How tall what was painted was."""

    def __init__(self) -> None:
        super().__init__()
        self.heights: list[int] = []

    def eventFilter(self, watched, event):
        if event.type() == QEvent.Type.Paint:
            self.heights += [rect.height() for rect in event.region()]
        return False
