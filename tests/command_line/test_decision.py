"""``verdict``: what is wrong, what to read next, what to alter; the same as the core decides.

The truth of the samples is what ``sample_curves/make.py`` read them from.
"""

from __future__ import annotations

import math

import pytest

from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.docket.readings import Reading
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.problems import path_text
from bobweight.core.record import put
from tests.command_line.test_predict_and_verdict import DEMO, ROOT, answer, main
from tests.samples import sample

SAMPLES = ROOT / "sample_curves"
READINGS = ("sessions", 0, "readings")


@pytest.fixture(scope="module")
def docket():
    return read_docket(DEMO)


def test_the_named_fields_and_the_core_s_numbers(capsys, docket):
    found, told = answer(capsys, "verdict", str(DEMO), "--json"), decide_docket(docket)
    assert {"check_points", "fit", "explanations", "next_reading", "alterations"} <= set(found)
    assert set(found["fit"]) == {path_text(e.path) for e in told.fit.estimates}
    for e in told.fit.estimates:
        fields = found["fit"][path_text(e.path)]
        assert set(fields) == {"value", "u", "unit", "state"}
        assert fields["value"] == pytest.approx(e.value) and fields["u"] == pytest.approx(e.u)
        assert fields["state"] in ("determined", "not-determined", "at-limit")
    for fields, e in zip(found["explanations"], told.explanations, strict=True):
        assert {"name", "probability", "sentence", "parameters"} <= set(fields)
        assert fields["name"] == e.name
        assert fields["probability"] == pytest.approx(e.probability)
        assert fields["sentence"][0].isupper() and fields["sentence"].endswith(".")
    assert math.fsum(e["probability"] for e in found["explanations"]) == pytest.approx(1.0)
    reading = found["next_reading"]
    assert {"speed_rpm", "direction", "depression_kpa", "gain_bits"} <= set(reading)
    assert reading["speed_rpm"] == pytest.approx(told.advice.best.speed_rpm)
    for fields, step in zip(found["alterations"], told.cure.steps, strict=True):
        assert {"what", "amount", "unit", "probability_inside_after"} <= set(fields)
        assert fields["what"] == step.key and fields["amount"] == pytest.approx(step.amount)


@pytest.mark.parametrize(
    ("sample", "name", "parameter", "truth"),
    [
        ("weak_primary", "primary_weak", "mechanism.springs[0].rate_n_per_mm", 0.7 * 2.6),
        ("straight_six", "secondary_late", "mechanism.springs[1].slack_mm", 1.7 * 1.5),
        ("retard_capsule", "stop_high", "mechanism.stop_deg", 1.15 * 12.0),
    ],
)
def test_the_fault_of_a_sample_is_found(capsys, sample, name, parameter, truth):
    found = answer(capsys, "verdict", str(SAMPLES / f"{sample}.docket"), "--json")
    first = found["explanations"][0]
    assert first["name"] == name and first["probability"] > 0.5
    # A second fault beside it is not excluded by so few readings.
    with_it = [e["probability"] for e in found["explanations"] if name in e["name"].split("+")]
    assert sum(with_it) > 0.9
    size = next(p for p in first["parameters"] if p["path"] == parameter)
    assert abs(size["fitted"] - truth) < 2.5 * size["u_fitted"]


def test_text_for_reading(capsys):
    assert main(["verdict", str(DEMO)]) == 0
    _, _, rest = capsys.readouterr().out.partition("\n\n")
    assert "Primary spring about" in rest and "N/mm" in rest
    assert "Inside the whole band" in rest


NONSENSE = {
    "one-speed": [(1500 + 5 * k, 20 + k % 3) for k in range(12)],
    "two": [(900, 8), (1500, 18)],
    "none": [],
}


@pytest.mark.parametrize("name", NONSENSE)
def test_nonsense_gives_a_sentence(capsys, tmp_path, docket, name):
    readings = tuple(
        Reading(speed_rpm=x, angle_deg=y, direction="rising") for x, y in NONSENSE[name]
    )
    file = tmp_path / f"{name}.docket"
    write_docket(put(docket, READINGS, readings), file)
    found = answer(capsys, "verdict", str(file), "--json")
    assert found["explanations"] == [] and found["alterations"] == [] and found["fit"] == {}
    assert found["next_reading"] is None
    assert found["problems"] and all(p.endswith(".") for p in found["problems"])


def test_an_advance_that_does_not_move_is_called_seized(capsys, tmp_path, docket):
    """Whichever way the speed goes (common practice: rust or old grease holds cam and pivots)."""
    readings = tuple(
        Reading(speed_rpm=700.0 + 180 * k, angle_deg=8.0 + (-0.4, 0.3, 0.0, 0.2)[k % 4],
                direction=("rising", "falling")[k % 2])
        for k in range(18)
    )  # fmt: skip
    file = tmp_path / "seized.docket"
    write_docket(put(docket, READINGS, readings), file)
    found = answer(capsys, "verdict", str(file), "--json")
    assert found["explanations"][0]["name"] == "advance_seized"
    assert found["judgement"]["decision"] == "outside"
    assert found["judgement"]["action"] == "free-first"
    assert "Turn the cam by hand" in found["judgement"]["sentence"]


def test_ten_thousand_readings_are_judged(capsys, tmp_path, docket):
    readings = tuple(
        Reading(speed_rpm=500.0 + k % 4000, angle_deg=10.0, direction="rising")
        for k in range(10_000)
    )
    file = tmp_path / "long.docket"
    write_docket(put(docket, READINGS, readings), file)
    found = answer(capsys, "verdict", str(file), "--json")
    assert found["explanations"] and "inside" not in found["judgement"]["decision"]


def test_an_empty_docket_gives_sentences(capsys, tmp_path):
    file = tmp_path / "empty.docket"
    write_docket(new_docket(), file)
    found = answer(capsys, "verdict", str(file), "--json")
    assert found["check_points"] == [] and found["explanations"] == []
    assert found["problems"]
    assert main(["verdict", str(file)]) == 0
    said = capsys.readouterr().out
    assert "Not read yet. Enter the table for the unit’s number" in said
    assert "What would help most" in said and "the curve is then known" in said


def test_of_several_sessions_it_says_whose_readings_are_judged(capsys, tmp_path):
    """As the window does; of one session nobody asks."""
    file = tmp_path / "two.docket"
    docket = sample("motorcycle_twin")
    first = docket.sessions[0]
    write_docket(put(docket, ("sessions",), (first, first.with_changes(title="Again"))), file)
    assert main(["verdict", str(file), "--session", "2"]) == 0
    assert "Judged by the readings of “Again" in capsys.readouterr().out
    write_docket(docket, file)
    assert main(["verdict", str(file)]) == 0
    assert "Judged by" not in capsys.readouterr().out
