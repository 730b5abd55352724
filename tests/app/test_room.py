"""Nothing overlaps and no word is clipped: a short look at every page.

The whole grid of pages, sizes, themes and dockets is ``python -m tests.studies.room``.
"""

from __future__ import annotations

import pytest

from tests.studies.room import KINDS, faults_of_window


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_nothing_overlaps_and_no_word_is_clipped(qtbot, window, kind, tmp_path):
    faults = faults_of_window(window, KINDS[kind](tmp_path), (1350, 692))
    assert faults == []
