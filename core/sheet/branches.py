"""Which predicted advance tells at a check point, where the two branches differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.judgement.compare import PointResult
    from core.judgement.outcome import Outcome


def telling_prediction(outcome: Outcome, point: PointResult) -> tuple[float | None, str | None]:
    """The predicted advance to show at a check point, in distributor degrees, and its branch.

    A table read on either branch asks both to lie in the band. The middle of the two may then lie
    inside though one of them is outside; it would read as a contradiction beside the cross, so the
    branch farthest outside is told in its place.

    Parameters
    ----------
    outcome : Outcome
    point : PointResult
        One of its comparison's.

    Returns
    -------
    advance_deg : float or None
        None where there is no prediction.
    direction : {'rising', 'falling'} or None
        None where the advance stands for both branches.
    """
    middle, low, high = point.predicted_deg, point.low_deg, point.high_deg
    if point.predicted_inside is not False or middle is None or not low <= middle <= high:
        return middle, None
    branches = {
        direction: float(outcome.prediction.advance_deg(point.speed_rpm, direction))
        for direction in ("rising", "falling")
    }
    direction = max(branches, key=lambda d: max(low - branches[d], branches[d] - high))
    return branches[direction], direction
