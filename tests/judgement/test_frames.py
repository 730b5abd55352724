"""A value said at one shaft lands where another is kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.figure.view import FRAMES
from bobweight.core.judgement.frames import reframed, said_frame
from bobweight.core.problems import BobweightError


@pytest.mark.parametrize(
    ("typed", "value", "frame"),
    [
        ("28 crank", "28", "crank"), ("36° with static", "36°", "crank-static"),
        ("36 Crank with static", "36", "crank-static"), ("12 dist.", "12", "distributor"),
        ("12 distributor", "12", "distributor"), ("12", "12", ""), ("0.35 in", "0.35 in", ""),
    ],
)  # fmt: skip
def test_the_words_behind_a_number_say_the_frame(typed: str, value: str, frame: str):
    assert said_frame(typed) == (value, frame)


def test_a_table_with_static_is_brought_to_the_distributor():
    """28 at the crank with 8 static is 20 of advance there and 10 at the distributor, which turns
    at half the speed (common practice for four strokes)."""
    assert reframed(28.0, False, "crank-static", "distributor", 2.0, 8.0) == pytest.approx(10.0)
    assert reframed(3000.0, True, "crank-static", "distributor", 2.0, 8.0) == pytest.approx(1500.0)
    assert reframed(10.0, False, "distributor", "crank", 2.0, None) == pytest.approx(20.0)


@given(st.floats(-50, 100), st.sampled_from(FRAMES), st.sampled_from(FRAMES), st.booleans())
def test_there_and_back_is_the_same(value: float, one: str, other: str, is_speed: bool):
    there = reframed(value, is_speed, one, other, 2.0, 7.0)
    assert reframed(there, is_speed, other, one, 2.0, 7.0) == pytest.approx(value, abs=1e-9)


def test_static_must_be_known_where_it_counts():
    with pytest.raises(BobweightError, match="static-needed"):
        reframed(36.0, False, "crank-static", "distributor", 2.0, None)
    assert reframed(3000.0, True, "crank-static", "distributor", 2.0, None) == 1500.0
