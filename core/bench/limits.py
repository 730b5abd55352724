"""A measured finding against its limits: pass, borderline, fail, not measured; or only shown,
where no limit of this unit is known."""

from __future__ import annotations

from enum import Enum
from math import inf

from bobweight.core.bench._checks import finite, positive
from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.statistics.conformity import Conformity, decide, probability_inside


class State(Enum):
    """What can be said of a finding."""

    PASS = "pass"
    BORDERLINE = "borderline"
    FAIL = "fail"
    SHOWN = "shown"
    NOT_MEASURED = "not measured"


_STATES = {
    Conformity.INSIDE: State.PASS,
    Conformity.OUTSIDE: State.FAIL,
    Conformity.CANNOT_TELL: State.BORDERLINE,
}


@frozen
class JudgedValue:
    """The state of a finding, and the probability (0 to 1) that the true value lies within the
    limits; None where no uncertainty is stated or nothing was measured."""

    state: State
    probability: float | None


def judged(
    value: float | None,
    u: float | None,
    low: float | None = None,
    high: float | None = None,
    *,
    setting: bool = False,
) -> JudgedValue:
    """The state of a finding against its limits.

    Parameters
    ----------
    value : float or None
        As measured; None means not measured.
    u : float or None
        Its standard uncertainty, above 0, same unit. None means not stated: then the value alone
        decides, the limits counting as within, and no finding is borderline.
    low, high : float or None
        Limits in the same unit; None is no limit on that side.
    setting : bool
        True for what a hand sets to nominal ± tolerance: within, it passes, as the tolerance has
        room for the gauge; outside, it fails only where the gauge's uncertainty leaves no doubt.

    Raises
    ------
    BobweightError
        ``limit-missing`` if there is neither limit; ``limits-crossed``; ``not-positive``.

    Notes
    -----
    JCGM 106:2012, 7.4; for a setting 8.2.1, simple acceptance.
    """
    if low is None and high is None:
        raise BobweightError("limit-missing")
    low_ = -inf if low is None else float(finite("low", low))
    high_ = inf if high is None else float(finite("high", high))
    if low_ > high_:
        raise BobweightError("limits-crossed", (), low=low_, high=high_)
    if value is None:
        return JudgedValue(State.NOT_MEASURED, None)
    number = float(finite("value", value))
    spread = 0.0 if u is None else float(positive("u", u))
    probability = float(probability_inside(number, spread, low_, high_))
    state = _STATES[decide(probability)]
    if setting and low_ <= number <= high_:
        state = State.PASS
    return JudgedValue(state, None if u is None else probability)
