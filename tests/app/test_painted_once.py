"""What is altered on a page is painted once: Qt would lay a table's columns out later, and
paint them a second time."""

from __future__ import annotations

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
