"""What a sentence cites of a cell."""

from __future__ import annotations

import pytest

from bobweight.core.problems import BobweightError
from bobweight.core.tables.cells import cited, number_of
from bobweight.core.units import ANGLE

_LONG = "18,0 and something that no table should have in a cell"


def test_a_cell_that_is_cut_says_so():
    assert cited(" 12.5 ") == "12.5"
    cut = cited(_LONG)
    assert len(cut) <= 40 and cut.endswith("…") and " …" not in cut
    assert _LONG.startswith(cut[:-1])


def test_of_an_unknown_unit_the_unit_is_cited_and_not_the_number():
    with pytest.raises(BobweightError) as refused:
        number_of(_LONG, ANGLE, None, ",")
    facts = refused.value.problem.facts
    assert refused.value.problem.code == "unknown-unit"
    assert str(facts["value"]).startswith("and something") and str(facts["value"]).endswith("…")
