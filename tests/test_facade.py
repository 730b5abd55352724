"""The core called from elsewhere: the same numbers, unknown places refused, and the example of the
README."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import bobweight.core as core
from bobweight.core.docket.file import read_docket
from bobweight.core.mechanics.predict import predict as predict_one
from bobweight.core.problems import BobweightError
from bobweight.core.record import get
from tests.design.trays import tray_near

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "sample_curves" / "weak_primary.docket"
RATE = "mechanism.springs[0].rate_n_per_mm"


@pytest.fixture(scope="module")
def docket():
    return core.open_docket(DEMO)


def test_all_names_are_there():
    assert {name: callable(getattr(core, name)) for name in core.__all__} == dict.fromkeys(
        core.__all__, True
    )
    with pytest.raises(AttributeError):
        core.no_such_name  # noqa: B018


def test_the_package_alone_loads_nothing():
    code = "import sys, bobweight.core; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_values_are_changed_in_a_copy(docket):
    other = core.changed(
        docket, {RATE: 1.8, "particulars.title": "Softer", "mechanism.springs.1.slack_mm": 2}
    )
    assert get(other, ("mechanism", "springs", 0, "rate_n_per_mm")) == 1.8
    assert get(other, ("mechanism", "springs", 1, "slack_mm")) == 2
    assert other.particulars.title == "Softer" and docket == read_docket(DEMO)


@pytest.mark.parametrize(
    ("place", "value", "code"),
    [
        ("mechanism.springs[0].rate", 1.8, "no-such-value"),
        ("mechanism.springs[7].rate_n_per_mm", 1.8, "no-such-value"),
        ("mechanism.spring[0].rate_n_per_mm", 1.8, "no-such-value"),
        ("springs[0].rate_n_per_mm", 1.8, "no-such-value"),
        ("mechanism.springs[0]", 1.8, "no-such-value"),
        ("", 1.8, "no-such-value"),
        (RATE, -1.0, "below-limit"),
        (RATE, "soft", "not-a-number"),
        (RATE, float("nan"), "not-finite"),
        ("mechanism.linkage.kind", "magic", "not-an-option"),
    ],
)
def test_what_cannot_be_changed_is_refused(docket, place, value, code):
    with pytest.raises(BobweightError) as told:
        core.changed(docket, {place: value})
    assert told.value.problem.code == code


@pytest.mark.parametrize(
    ("place", "code"),
    [
        ("mechanism.springs[0].rate", "no-such-value"),
        ("mechanism.springs[0].role", "no-such-number"),
        ("capsules[0].full_deg", "no-such-number"),
        ("springs[0].rate_n_per_mm", "no-such-value"),
    ],
)
def test_what_cannot_vary_is_refused(docket, place, code):
    with pytest.raises(BobweightError) as told:
        core.predict(docket, {place: [1.0, 2.0]})
    assert told.value.problem.code == code


def test_one_build_is_the_prediction(docket):
    found = core.predict(docket)
    one = predict_one(docket.mechanism)
    (build,) = core.records(found["builds"])
    assert build["full_deg"] == pytest.approx(one.full_deg)
    assert build["start_rpm"] == pytest.approx(one.start_rpm)
    rising = [row for row in core.records(found["curve"]) if row["direction"] == "rising"]
    exact = one.advance_deg([row["speed_rpm"] for row in rising])
    assert [row["advance_deg"] for row in rising] == pytest.approx(list(exact), abs=0.02)


def test_many_builds_are_each_the_prediction_of_its_own_docket(docket):
    rates, speeds = np.linspace(1.5, 3.0, 4), (700.0, 1200.0, 2500.0)
    found = core.predict(docket, {RATE: rates}, at_rpm=speeds)
    assert found["builds"][RATE] == list(rates)
    rows = core.records(found["curve"])
    assert len(rows) == 4 * 2 * 3
    for row in rows:
        alone = predict_one(core.changed(docket, {RATE: rates[row["build"]]}).mechanism)
        exact = alone.advance_deg(row["speed_rpm"], row["direction"])
        assert row["advance_deg"] == pytest.approx(float(exact), abs=0.02)


def test_columns_are_plain_and_of_one_length(docket):
    tray = tray_near(docket.mechanism, 6, seed=4)
    tables = [*core.predict(docket, {RATE: [2.0, 2.5]}).values(), core.sheet_rows(docket)]
    tables += [core.judge(docket)["check_points"], core.search(docket, tray)]
    for table in tables:
        assert len({len(column) for column in table.values()}) == 1
        for column in table.values():
            assert {type(value) for value in column} <= {int, float, str, bool, type(None)}
    assert core.columns(core.records(tables[0])) == tables[0]


def test_the_sheet_has_the_check_points_as_they_are_judged(docket):
    """One unit has one answer, whichever door it is asked through."""
    judged = core.records(core.judge(docket)["check_points"])
    rows = core.records(core.sheet_rows(docket))
    sheet = [row for row in rows if row["part"] == "check point"]
    assert len(sheet) == len(judged) > 0
    for row, point in zip(sheet, judged, strict=True):
        assert row["decision"] == point["decision"]
        assert row["advance_deg"] == pytest.approx(point["estimate_deg"], abs=1e-9)
        assert row["probability_inside"] == pytest.approx(point["probability_inside"], abs=1e-9)


def test_a_session_that_is_not_there(docket):
    with pytest.raises(BobweightError) as told:
        core.judge(docket, 5)
    assert told.value.problem.code == "no-such-session"


def test_the_example_of_the_readme_runs_as_it_stands(tmp_path):
    text = (ROOT / "README.md").read_text("utf-8")
    (code,) = re.findall(r"<!-- notebook -->\n```python\n(.*?)```", text, re.DOTALL)
    lines = [line for line in code.splitlines() if line.strip()]
    assert len(lines) <= 15
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=100
    )
    assert done.returncode == 0, done.stderr
    assert "primary_weak" in done.stdout
