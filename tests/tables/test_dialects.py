"""Every dialect is right, offered, or refused with the right code; none is silently wrong."""

from __future__ import annotations

import pytest

from bobweight.core.tables.understanding import understand_text
from tests.tables.dialects import DISTRIBUTOR, LAMP, READINGS, TARGETS, TRAYS, Case


def _figures(record) -> tuple:
    kind = type(record).__name__
    if kind == "Reading":
        last = [] if record.direction == "unknown" else [record.direction]
        depression = [] if record.depression_kpa is None else [record.depression_kpa]
        return (record.speed_rpm, record.angle_deg, *depression, *last)
    if kind == "TraySpring":
        length = [] if record.free_length_mm is None else [record.free_length_mm]
        return (record.label, record.rate_n_per_mm, *length)
    where = record.speed_rpm if kind == "CheckPoint" else record.depression_kpa
    return (where, record.least_deg, record.most_deg)


def _same(found: tuple, wanted: tuple) -> bool:
    return len(found) == len(wanted) and all(
        f == (pytest.approx(w) if isinstance(w, float) else w)
        for f, w in zip(found, wanted, strict=True)
    )


def _judge(case: Case, kind: str, place) -> None:
    understanding = understand_text(case.text, kind, place)
    found = [_figures(record) for record in understanding.stored]
    assert len(found) == len(case.taken), (found, understanding.refused)
    for one, wanted in zip(found, case.taken, strict=True):
        assert _same(one, wanted), (one, wanted)
    assert {r.line: r.problem.code for r in understanding.refused} == case.refused
    unsure = [
        p.facts["field"] if p.code == "column-needed" else (p.facts["column"], p.facts["reason"])
        for p in understanding.problems
    ]
    assert tuple(unsure) == case.unsure
    assert understanding.sure == (not case.unsure)
    assert understanding.settings == case.settings


@pytest.mark.parametrize("case", READINGS, ids=lambda case: case.name)
def test_readings(case: Case):
    _judge(case, "readings", case.place)


@pytest.mark.parametrize("case", TARGETS, ids=lambda case: case.name)
def test_targets(case: Case):
    _judge(case, "target", DISTRIBUTOR if case.place is LAMP else case.place)


@pytest.mark.parametrize("case", TRAYS, ids=lambda case: case.name)
def test_trays(case: Case):
    _judge(case, "tray", case.place)


def test_there_are_enough_of_them():
    assert len(READINGS) + len(TARGETS) + len(TRAYS) >= 60
