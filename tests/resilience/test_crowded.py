"""A short run of windows closed in the midst; the long one is a study of the same name."""

from __future__ import annotations

from tests.resilience.crowded import rounds


def test_windows_are_closed_in_the_midst_of_work(qtbot, tmp_path):
    for shown in rounds(1, 3, tmp_path):
        assert shown.wrong == []
