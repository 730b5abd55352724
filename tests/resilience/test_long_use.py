"""A short part of a restorer's day; the whole is ``python -m tests.studies.long_use``."""

from __future__ import annotations

from tests.resilience.long_use import Restorer


def test_a_day_leaves_nothing_behind(qtbot, tmp_path):
    restorer = Restorer(tmp_path, seed=1, judged=False)
    first, second = restorer.day(2, acts_an_hour=4)
    assert second.handles <= first.handles + 1 and second.threads <= first.threads
    assert second.files <= first.files + 2  # the journal of the unit in hand, and its lock
    assert sum(len(times) for times in second.acts.values()) >= 3
    assert restorer.close()
