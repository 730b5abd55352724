"""Direction by the trend of the speeds, and tables typed in another frame."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.guesses import frame_advice, guess_directions
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.setting_up import SettingUp
from bobweight.core.docket.target import CheckPoint, Target, VacuumPoint
from bobweight.core.docket.vacuum import Capsule

UP, DOWN, OPEN = "rising", "falling", "unknown"


@pytest.mark.parametrize(
    ("speeds", "directions"),
    [
        ([], []),
        ([1000], [OPEN]),
        ([1000, 1010, 995], [OPEN] * 3),
        ([600, 900, 1200], [UP] * 3),
        ([1200, 900, 600], [DOWN] * 3),
        ([600, 900, 1200, 900, 600], [UP] * 3 + [DOWN] * 2),
        # three times at each speed, with a shaking needle
        ([600, 605, 598, 900, 890, 903, 1200, 1190, 1201, 900, 908, 895], [UP] * 9 + [DOWN] * 3),
        # slow steps, each less than the noise
        ([600, 615, 630, 645, 660], [UP] * 5),
        ([600, None, 900, None, 600], [UP, OPEN, UP, OPEN, DOWN]),
        ([None, None], [OPEN, OPEN]),
        ([600, 1200, 600, 1200], [UP, UP, DOWN, UP]),
    ],
)
def test_direction_follows_the_trend(speeds: list, directions: list):
    assert guess_directions(speeds) == directions


SPEEDS = st.lists(st.integers(4, 60).map(lambda k: 100.0 * k), min_size=2, unique=True)


@given(SPEEDS)
def test_a_sweep_up_and_down_is_told_apart_whatever_the_steps(speeds: list[float]):
    up = sorted(speeds)
    down = up[-2::-1]
    assert guess_directions(up + down) == [UP] * len(up) + [DOWN] * len(down)


@given(SPEEDS)
def test_turned_round_every_direction_is_the_other(speeds: list[float]):
    turned = guess_directions([-speed for speed in speeds])
    swap = {UP: DOWN, DOWN: UP, OPEN: OPEN}
    assert [swap[way] for way in turned] == guess_directions(speeds)


def docket(frame: str, top: float, **more) -> Docket:
    low = CheckPoint(speed_rpm=500, least_deg=0, most_deg=2)
    high = CheckPoint(speed_rpm=2000, least_deg=top - 1, most_deg=top + 1)
    made = {
        "mechanism": Mechanism(stop_deg=12.0),
        "target": Target(frame=frame, points=(low, high)),
        "setting_up": SettingUp(static_deg=8.0),
    }
    return Docket(**(made | more))


@pytest.mark.parametrize(
    ("frame", "top", "likely"),
    [
        ("distributor", 12, None), ("distributor", 10, None), ("distributor", 24, "crank"),
        ("distributor", 32, "crank-static"), ("distributor", 100, None), ("crank", 24, None),
        ("distributor", 40, "crank-static"), ("distributor", 42, None),  # by a quarter, and more
        ("crank", 12, "distributor"), ("crank", 32, None), ("crank-static", 32, None),
        ("crank-static", 12, "distributor"), ("crank-static", 24, None),
    ],
)  # fmt: skip
def test_a_table_in_another_frame_is_suspected(frame: str, top: float, likely: str | None):
    found = frame_advice(docket(frame, top))
    assert [problem.facts["likely"] for problem in found] == ([likely] if likely else [])
    for problem in found:
        assert problem.code == "looks-like-other-frame"
        assert problem.path == ("target", "frame")
        assert not problem.grave


def test_the_stamped_maximum_serves_where_the_stop_is_not_known():
    stamped = docket("distributor", 24, mechanism=Mechanism(),
                     particulars=Particulars(stamped_maximum_deg=12.0))  # fmt: skip
    assert len(frame_advice(stamped)) == 1
    assert frame_advice(docket("distributor", 24, mechanism=Mechanism())) == []


def test_at_crank_speed_no_frame_is_suspected():
    assert frame_advice(docket("distributor", 24, particulars=Particulars(drive_ratio=1.0))) == []


def test_from_a_ratio_of_one_and_a_fifth_the_frames_can_be_told():
    # 1.2 × 12° = 14.4° at the crank
    geared = docket("distributor", 14.4, particulars=Particulars(drive_ratio=1.2))
    assert [problem.facts["likely"] for problem in frame_advice(geared)] == ["crank"]
    nearly = docket("distributor", 14.4, particulars=Particulars(drive_ratio=1.19))
    assert frame_advice(nearly) == []


def test_nothing_is_suspected_where_nothing_moves():
    still = Target(vacuum_frame="crank", vacuum_points=(
        VacuumPoint(depression_kpa=60, least_deg=-1, most_deg=1),))  # fmt: skip
    made = Docket(target=still, capsules=(Capsule(given_as="triple", full_deg=0.0),))
    assert frame_advice(made) == []


def test_a_vacuum_table_in_another_frame_is_suspected():
    target = Target(vacuum_points=(VacuumPoint(depression_kpa=60, least_deg=13, most_deg=15),))
    made = Docket(target=target, capsules=(Capsule(given_as="triple", full_deg=7.0),))
    assert [problem.path for problem in frame_advice(made)] == [("target", "vacuum_frame")]


def test_a_point_with_one_limit_says_nothing_of_its_frame():
    half = Target(frame="distributor", points=(CheckPoint(speed_rpm=2000, least_deg=24),))
    assert frame_advice(docket("distributor", 24, target=half)) == []


def test_the_mechanism_ends_where_the_rubber_of_its_stop_gives_no_more():
    assert Mechanism(stop_deg=12.0, stop_give_deg=0.5).end_deg == 12.5


def test_a_mechanism_of_one_degree_is_a_mechanism():
    small = docket("distributor", 2, mechanism=Mechanism(stop_deg=1.0), setting_up=SettingUp())
    assert [problem.facts["likely"] for problem in frame_advice(small)] == ["crank"]
