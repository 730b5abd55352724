"""What a docket may take in a file is reckoned before it is written, and never too small (of any
docket: ``test_file``)."""

from __future__ import annotations

import pytest

from bobweight.core.docket import entry
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.docket.entry import Gate
from bobweight.core.docket.file import docket_to_text
from bobweight.core.docket.readings import Reading, Session
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.problems import BobweightError
from bobweight.core.record import put


@pytest.mark.parametrize(
    "text", ["é" * 50, "\x01" * 50, "\u2028" * 9, "𝄞" * 30, '"' * 50_000, "\\" * 50_000, "\n" * 99]
)
def test_signs_that_take_more_room_are_reckoned(text):
    docket = put(new_docket(), ("particulars", "notes"), text)
    size, _ = Gate()._record(docket, (), {})
    assert len(docket_to_text(docket).encode()) <= size


def test_many_short_rows_and_quotes_are_reckoned():
    rows = tuple(Reading(note='"\\"') for _ in range(400))
    docket = Docket(sessions=(Session(readings=rows),))
    size, count = Gate()._record(docket, (), {})
    assert len(docket_to_text(docket).encode()) <= size
    assert count > 400


def test_as_many_records_as_are_allowed_are_taken(monkeypatch):
    docket = new_docket()
    _, count = Gate()._record(docket, (), {})
    monkeypatch.setattr(entry, "RECORD_LIMIT", count)
    Gate().check(docket)
    monkeypatch.setattr(entry, "RECORD_LIMIT", count - 1)
    with pytest.raises(BobweightError, match="too-many-records"):
        Gate().check(docket)


def test_the_pipe_is_off_unless_a_depression_is_said():
    assert SettingUp().wanted_taken_kpa == 0.0
    assert put(put(Docket(), ("setting_up", "wanted_kpa"), 0.5), ("setting_up", "wanted_kpa"), 0.0)
