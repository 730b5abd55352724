"""What an edit alters on a page is painted once: Qt would lay a table's columns out later, and
paint them a second time."""

from __future__ import annotations

from tests.board.test_repaints import Painted
from tests.studies import edits, room


def test_a_table_whose_columns_change_their_width_is_painted_once(window, tmp_path):
    window.resize(1920, 1040)
    room.KINDS["demo"](window, tmp_path)
    window.stack.load_all()
    room._work_done(window)
    ((_, step),) = edits.steps(window, "Verdict")
    table = window.page("verdict").comparison.view
    seen, widths = Painted(table=table.viewport()), set()
    for n in (1, 2, 3, 4):
        step()
        room.settle()
        widths.add(table.width())
        assert seen.count["table"] == n
    assert len(widths) > 1, "no column became wider or narrower"
