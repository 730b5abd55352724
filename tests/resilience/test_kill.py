"""The program killed in the midst of a save, and a disk that refuses: a short run of the study."""

from __future__ import annotations

import shutil

import pytest

from tests.resilience import killing

pytestmark = pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not here")
TELLING = ("rename", "fsync", "unlink", "write", "linkat")


def test_a_save_that_ends_or_fails_at_a_call_leaves_whole_files(tmp_path):
    calls = killing.calls_of_a_save(tmp_path / "calls")
    telling = [call for call in calls if call.name in TELLING]
    assert len(calls) > 300 and len({call.name for call in telling}) == len(TELLING)
    cases = [(call, "signal=KILL") for call in telling[2::12]]
    cases += [(call, "error=ENOSPC") for call in telling[3::17]]
    for call, how in cases:
        found, struck = killing.hit(tmp_path / f"{call.name}{call.nth}{how}", call, how)
        assert found.wrong == [], (call, how, struck)


def test_a_call_that_was_not_hit_is_told(tmp_path):
    found, _ = killing.hit(tmp_path / "one", killing.Call("rename", 4000), "signal=KILL")
    assert "the call was not hit" in found.wrong


def test_a_kill_at_a_random_moment(tmp_path):
    found = killing.kill_at_random(tmp_path / "one", seed=1, longest_s=0.4)
    assert found.wrong == []
