"""Every code of the core has a sentence, and the sentences name field, value and limit."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

from bobweight import core
from bobweight.app.messages import (
    OF_ONE,
    SENTENCES,
    TABLES,
    edit_name,
    needs_text,
    place_text,
    sentence,
)
from bobweight.app.messages.figures import even
from bobweight.app.messages.lacking import curve_needs
from bobweight.app.store.display import Display
from bobweight.app.words import counted, significant
from bobweight.core.docket.docket import new_docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.judgement.outcome import outcome
from bobweight.core.problems import Problem
from bobweight.core.record import put
from bobweight.core.units import LENGTH
from tests.samples import sample

_RAISERS = {"BobweightError", "Problem", "wrong", "add"}
_CODE = re.compile(r"[a-z]+(-[a-z]+)+|missing|unusual|negative")


def codes_in_core() -> dict[str, str]:
    """Codes written out in calls that make a problem, with where."""
    found = {}
    for path in Path(core.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            first = node.args[0]
            if name not in _RAISERS or not isinstance(first, ast.Constant):
                continue
            if isinstance(first.value, str) and _CODE.fullmatch(first.value):
                found[first.value] = f"{path.name}:{node.lineno}"
    return found


def test_every_code_has_a_sentence():
    codes = codes_in_core()
    assert len(codes) > 80, "the search for codes no longer finds them"
    missing = {code: place for code, place in codes.items() if code not in SENTENCES}
    assert not missing


def test_a_code_has_one_sentence():
    """Of two, one would stand in its table and never be shown."""
    keys = [code for table in TABLES for code in table]
    assert sorted(keys) == sorted(SENTENCES)


def test_codes_are_kebab_case():
    assert not [code for code in SENTENCES if not _CODE.fullmatch(code)]


def test_every_sentence_is_one():
    for code, text in SENTENCES.items():
        assert text[0].isupper() or text[0] in "{“", code
        assert text.endswith((".", "?")), code


def docket():
    springs = (Spring(role="primary"), Spring(role="secondary"), Spring(role="secondary"))
    return put(new_docket(), ("mechanism", "springs"), springs)


@pytest.mark.parametrize(
    ("path", "expected"),
    [
        (("mechanism", "springs", 0, "rate_n_per_mm"), "Primary spring, rate"),
        (("mechanism", "springs", 2, "slack_mm"), "Secondary spring 2, slack"),
        (("mechanism", "springs", 0, "u", "rate_n_per_mm"), "Primary spring, rate, uncertainty"),
        (("mechanism", "stop_deg"), "Stop"),
        (("target", "points", 2, "least_deg"), "Check point 3, least"),
        (("sessions", 0, "readings", 4, "speed_rpm"), "Reading 5, speed shown"),
        (("mechanism",), "Mechanism"),
        (("gap_mm",), "Gap"),
    ],
)
def test_places_in_words(path, expected):
    assert place_text(path, docket()) == expected


def test_limit_in_the_unit_shown(qapp):
    display = Display()
    display.depression_unit = "inHg"
    facts = {"value": 338.6389, "limit": 95.0, "unit": "kPa"}
    said = sentence(Problem("above-limit", ("capsules", 0, "start_kpa"), facts), None, display)
    assert said.startswith(
        "Capsule 1, starts at cannot be 100\u00a0inHg: the most is 28.053\u00a0inHg."
    )


@pytest.mark.parametrize(
    "value, written",
    [(1e300, "1e300"), (-2.5e40, "−2.5e40"), (5e-324, "4.9407e-324".replace("-", "−")), (0.0, "0"),
     (20_000_000.0, "20000000"), (1e-6, "0.000001")],
)  # fmt: skip
def test_a_number_without_end_is_written_short(value, written):
    assert significant(value) == written


def test_names_of_edits(qapp):
    path = ("mechanism", "springs", 0, "rate_n_per_mm")
    assert edit_name(path, docket(), 1.25) == "Primary spring, rate 1.25\u00a0N/mm"
    assert edit_name(path, docket(), None) == "Primary spring, rate not known"
    assert edit_name(("mechanism", "stop_deg"), docket(), 12.0) == "Stop 12°"
    assert edit_name(("target", "frame"), docket(), "crank") == (
        "Centrifugal figures are crank, without static"
    )


def test_what_is_needed_is_one_sentence():
    problems = [
        Problem("missing", ("mechanism", "weights", "mass_g")),
        Problem("missing", ("mechanism", "weights", "cg_mm")),
        Problem("missing", ("mechanism", "springs", 0, "rate_n_per_mm")),
    ]
    assert needs_text(problems, docket()) == (
        "Still needed: weights (mass of each weight, pivot to centre of gravity); "
        "primary spring (rate)."
    )


def test_what_a_curve_needs_is_named_wherever_one_is_asked_for():
    empty = curve_needs(outcome(new_docket()))
    assert "No curve can be worked out" in empty and "mass of each weight" in empty
    assert "There is no spring yet" in empty
    assert curve_needs(outcome(sample("small_four"))) == ""
    bare = curve_needs(outcome(put(sample("small_four"), ("mechanism", "springs"), ())))
    assert "There is no spring yet" in bare


def test_a_unit_finer_or_coarser_is_written_as_fine():
    """A hundredth of a millimetre is 0.0004 in."""
    assert [even(value, LENGTH, "mm") for value in (1.0, 24.9)] == ["1.00", "24.90"]
    assert even(25.4, LENGTH, "in") == "1.000" and even(2.54, LENGTH, "thou") == "100"


def test_unknown_code_is_still_a_sentence():
    assert "(never-heard)" in sentence(Problem("never-heard", ("mechanism", "stop_deg")))


@pytest.mark.parametrize("code", sorted(OF_ONE))
def test_one_is_not_said_as_several(code):
    """A sentence for one thing stands beside that for several, and says one."""
    facts = {"count": 1, "given": 1, "least": 3, "needed": 3, "load_n": 4.0}
    alone = sentence(Problem(code, (), facts))
    several = sentence(Problem(code, (), facts | {"count": 2, "given": 2}))
    assert "one" in alone.lower() and "1 " not in alone.replace("N", "")
    assert "2 " in several and alone != several


def test_none_is_not_said_as_a_count():
    """“0 readings with the pipe off are too few … Take more.” of a docket that nobody has read."""
    none = sentence(Problem("too-few-readings", (), {"given": 0, "needed": 4}))
    assert none.startswith("No reading") and "0" not in none and "4" in none


def test_counted():
    assert counted(1, "one row of {name}", "{count} rows of {name}", name="x") == "one row of x"
    assert counted(0, "one row", "{count} rows") == "0 rows"
