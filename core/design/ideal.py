"""What to order or wind: the springs with the most margin to the band, whatever is in the tray.

Rates, take-up and tension are tuned together for the posts as they stand; then wire, coil and body
from the preferred sizes are sought that realise each spring within its stresses, and slack and
posts are tuned once more for springs as they can really be wound.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.design.goal import Goal, goal_of
from bobweight.core.design.tuning import Knob, Tuned, Tuner
from bobweight.core.design.winding import Wanted, Winding, windings
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.spring_source import CoilRecord, SpringSource
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import taken

_STARTS = 48
_SHARES_OF_TENSION = (0.0, 0.15, 0.3, 0.45, 0.6)  # of the pull at rest, tried for a winding
_LONGEST_OVER = 0.5  # mm beyond the length at the stop, for handling


@frozen
class IdealLimits:
    """Between which the springs are sought. Defaults: common practice.

    Parameters
    ----------
    primary_rate_n_per_mm, secondary_rate_n_per_mm : (float, float)
    preload_n : (float, float)
        Pull of the primary spring at rest.
    take_up_mm : (float, float)
        How far the secondary's peg moves before it is taken up, from rest.
    tension_n : (float, float)
        Initial tension of the secondary spring.
    stop_deg : (float, float) or None
        Between which the stop may be set; None leaves it as it is.
    slack_mm : (float, float)
        What the secondary's loop allows; the rest of the take-up is made by its free length.
    """

    primary_rate_n_per_mm: tuple[float, float] = (0.1, 8.0)
    secondary_rate_n_per_mm: tuple[float, float] = (0.5, 40.0)
    preload_n: tuple[float, float] = (0.0, 30.0)
    take_up_mm: tuple[float, float] = (0.0, 5.0)
    tension_n: tuple[float, float] = (0.0, 6.0)
    stop_deg: tuple[float, float] | None = None
    slack_mm: tuple[float, float] = (0.3, 2.0)


@frozen
class IdealSpring:
    """One wanted spring and how it may be wound.

    Attributes
    ----------
    longest_mm : float
        Between post and peg at the stop.
    windings : tuple of Winding
        Ways to wind it, the best first; empty if none holds.
    """

    role: str
    rate_n_per_mm: float
    initial_tension_n: float
    free_length_mm: float
    slack_mm: float
    longest_mm: float
    windings: tuple[Winding, ...]


@frozen
class Ideal:
    """The springs with the most margin.

    Attributes
    ----------
    mechanism : Mechanism
        The docket's with the ideal springs.
    margin_deg : float
        By the full prediction; negative where no springs bring the curve into the band.
    wound : Mechanism or None
        With the first winding of each spring, as it can really be wound.
    """

    mechanism: Mechanism
    margin_deg: float
    springs: tuple[IdealSpring, ...]
    wound: Mechanism | None
    wound_margin_deg: float | None


def ideal(docket: Docket, limits: IdealLimits | None = None, material: str = "music") -> Ideal:
    """The springs with the most margin to the docket's target, and how to wind them.

    Parameters
    ----------
    docket : Docket
        Springs with their roles, posts and pegs; their rates and lengths may be missing.
    material : str
        Wire, as :data:`core.design.wire.MATERIALS` has it.

    Raises
    ------
    BobweightError
        ``no-check-points``, ``no-spring-to-replace``, the first grave problem of the mechanism.
    """
    limits = limits or IdealLimits()
    goal, blank, roles = looked_over(docket)
    found = _best(blank, goal, roles, limits)
    mechanism, margin = found
    springs = tuple(
        _wanted(mechanism, indices[0], role, limits, material)
        for role, indices in roles.items()
        if indices
    )
    mechanism = _with_figures(mechanism, roles, springs)
    prediction = predict(mechanism)
    margin = float(goal.margin_deg(goal.advance_of(prediction), prediction.full_deg))
    wound = _wound(mechanism, roles, springs)
    if wound is None:
        return Ideal(mechanism, margin, springs, None, None)
    wound, wound_margin = _retuned(wound, goal, roles, limits)
    return Ideal(mechanism, margin, springs, wound, wound_margin)


def looked_over(docket: Docket) -> tuple[Goal, Mechanism, dict[str, tuple[int, ...]]]:
    """What it begins with, at once: the goal, the mechanism with stand-ins for springs that are to
    be replaced, and where these hang, by role.

    Raises
    ------
    BobweightError
        As :func:`ideal`.
    """
    goal = goal_of(docket)
    blank = _blank(docket.mechanism)
    for problem in mechanism_problems(blank):
        if problem.grave:
            raise BobweightError.of(problem.at("mechanism"))
    roles = {role: _of_role(blank, role) for role in ("primary", "secondary")}
    if not roles["primary"]:
        raise BobweightError("no-spring-to-replace", ("mechanism", "springs"), role="primary")
    return goal, blank, roles


def _of_role(mechanism: Mechanism, role: str) -> tuple[int, ...]:
    return tuple(i for i, spring in enumerate(mechanism.springs) if spring.role == role)


def _blank(mechanism: Mechanism) -> Mechanism:
    """Springs to be replaced with figures that let the rest be checked; tangs as they stand."""
    springs = tuple(
        spring
        if spring.role == "further"
        else spring.with_changes(
            rate_n_per_mm=1.0, initial_tension_n=0.0, free_length_mm=1.0, slack_mm=0.0
        )
        for spring in mechanism.springs
    )
    return mechanism.with_changes(springs=springs)


def _best(
    blank: Mechanism, goal: Goal, roles: dict[str, tuple[int, ...]], limits: IdealLimits
) -> tuple[Mechanism, float]:
    """The mechanism with the most margin over rate, preload, take-up and tension."""
    rest = _lengths(blank, 0.0)
    knobs, paths = [], []

    def knob(role: str, key: str, ends: tuple[float, float]) -> None:
        knobs.append(Knob(tuple(("springs", i, key) for i in roles[role]), *ends))
        paths.append((role, key))

    primary = rest[roles["primary"][0]]
    knob("primary", "rate_n_per_mm", limits.primary_rate_n_per_mm)
    # The primary is taken up from rest: its pull there is its initial tension, free length the
    # distance at rest. What of it is tension and what stretch is decided when it is wound.
    knob("primary", "initial_tension_n", limits.preload_n)
    blank = _set(blank, roles["primary"], free_length_mm=primary - 1e-6)
    if roles["secondary"]:
        secondary = rest[roles["secondary"][0]]
        blank = _set(blank, roles["secondary"], free_length_mm=secondary)
        knob("secondary", "rate_n_per_mm", limits.secondary_rate_n_per_mm)
        knob("secondary", "slack_mm", limits.take_up_mm)
        knob("secondary", "initial_tension_n", limits.tension_n)
    tuner = Tuner(blank, goal, knobs, limits.stop_deg)
    low, high = np.array([(k.low, k.high) for k in knobs]).T
    shares = np.random.default_rng(0).random((_STARTS, len(knobs))) ** 2  # small ones more often
    starts = low + (high - low) * shares
    tuned: Tuned = tuner.tune({}, starts, (14, 6))
    best = int(tuned.margin_deg.argmax())
    mechanism = blank.with_changes(stop_deg=float(tuned.stop_deg[best]))
    for (role, key), value in zip(paths, tuned.knobs[best], strict=True):
        mechanism = _set(mechanism, roles[role], **{key: float(value)})
    return mechanism, float(tuned.margin_deg[best])


def _set(mechanism: Mechanism, indices: tuple[int, ...], **changes: object) -> Mechanism:
    springs = list(mechanism.springs)
    for index in indices:
        springs[index] = springs[index].with_changes(**changes)
    return mechanism.with_changes(springs=tuple(springs))


def _lengths(mechanism: Mechanism, advance_deg: float) -> list[float]:
    """Distance from post to peg of each spring in mm at an advance."""
    balance = Balance(Builds(mechanism))
    theta = np.radians(np.full((1, 1, 1), advance_deg))
    swing = balance.motion.at(theta)
    return [float(np.reshape(p.length_mm(theta, swing), -1)[0]) for p in balance.paths]


def _wanted(
    mechanism: Mechanism, index: int, role: str, limits: IdealLimits, material: str
) -> IdealSpring:
    """The figures of one spring, its preload parted into tension and stretch so that it can be
    wound, with the ways to wind it."""
    spring = mechanism.springs[index]
    at_rest = _lengths(mechanism, 0.0)[index]
    rate = required(spring.rate_n_per_mm, "springs", index, "rate_n_per_mm")
    longest = _lengths(mechanism, required(mechanism.stop_deg, "stop_deg"))[index] + _LONGEST_OVER
    best: IdealSpring | None = None
    if role == "primary":
        parts = [
            (share * spring.tension_taken_n, 0.0) for share in (*_SHARES_OF_TENSION, 0.75, 0.9, 1.0)
        ]
    else:
        middle = min(max(0.5 * spring.slack_taken_mm, limits.slack_mm[0]), limits.slack_mm[1])
        parts = [(spring.tension_taken_n, min(slack, spring.slack_taken_mm + 0.0))
                 for slack in (middle, *limits.slack_mm)]  # fmt: skip
    for tension, slack in parts:
        if role == "primary":
            free = at_rest - (spring.tension_taken_n - tension) / rate
        else:
            free = at_rest + spring.slack_taken_mm - slack
        if free < 2.0 or longest <= free:
            continue
        wanted = Wanted(rate, tension, free, longest - slack)
        ways = tuple(windings(wanted, material)[:5])
        tried = IdealSpring(role, rate, tension, free, slack, longest, ways)
        if best is None or _rank(tried) < _rank(best):
            best = tried
    if best is None:
        best = IdealSpring(role, rate, spring.tension_taken_n, at_rest,
                           spring.slack_taken_mm, longest, ())  # fmt: skip
    return best


def _rank(spring: IdealSpring) -> tuple[int, int, float]:
    if not spring.windings:
        return (1, 0, 0.0)
    first = spring.windings[0]
    held = first.tension_state.value in ("preferred", "none")
    return (0, 0 if held else 1, -first.stresses.margin)


def _with_figures(
    mechanism: Mechanism, roles: dict[str, tuple[int, ...]], springs: tuple[IdealSpring, ...]
) -> Mechanism:
    for spring in springs:
        mechanism = _set(
            mechanism, roles[spring.role], rate_n_per_mm=spring.rate_n_per_mm,
            initial_tension_n=spring.initial_tension_n, free_length_mm=spring.free_length_mm,
            slack_mm=spring.slack_mm, label="", source=SpringSource(), u={},
        )  # fmt: skip
    return mechanism


def _wound(
    mechanism: Mechanism, roles: dict[str, tuple[int, ...]], springs: tuple[IdealSpring, ...]
) -> Mechanism | None:
    """The mechanism with the rate of each spring's first winding, and its dimensions kept."""
    for spring in springs:
        if not spring.windings:
            return None
        coil = spring.windings[0].coil
        record = CoilRecord(
            wire_mm=coil.wire_mm, mean_diameter_mm=coil.mean_diameter_mm,
            body_coils=coil.body_coils, material=coil.material, hook_coils=coil.hook_coils,
        )  # fmt: skip
        mechanism = _set(
            mechanism, roles[spring.role], rate_n_per_mm=coil.rate_n_per_mm,
            free_length_mm=coil.free_length_mm,
            source=SpringSource(known_from="dimensions", coil=record),
        )  # fmt: skip
    return mechanism


def _retuned(
    mechanism: Mechanism, goal: Goal, roles: dict[str, tuple[int, ...]], limits: IdealLimits
) -> tuple[Mechanism, float]:
    """Posts and slack set anew for springs as wound."""
    knobs, places = [], []
    for indices in roles.values():
        if not indices:
            continue
        tang = mechanism.springs[indices[0]].tang_mm
        knobs.append(
            Knob(tuple(("springs", i, "tang_mm") for i in indices), tang - 1.0, tang + 1.0)
        )
        places.append((indices, "tang_mm"))
    if roles["secondary"]:
        indices = roles["secondary"]
        knobs.append(Knob(tuple(("springs", i, "slack_mm") for i in indices), *limits.slack_mm))
        places.append((indices, "slack_mm"))
    tuner = Tuner(mechanism, goal, knobs, limits.stop_deg)
    here = np.array([taken(mechanism.springs[i[0]], key) for i, key in places])
    low, high = np.array([(k.low, k.high) for k in knobs]).T
    starts = np.concatenate([[here], np.random.default_rng(0).uniform(low, high, (15, len(here)))])
    tuned = tuner.tune({}, starts, (10, 6))
    best = int(tuned.margin_deg.argmax())
    mechanism = replace(mechanism, stop_deg=float(tuned.stop_deg[best]))
    for (indices, key), value in zip(places, tuned.knobs[best], strict=True):
        mechanism = _set(mechanism, indices, **{key: round(float(value), 4)})
    prediction = predict(mechanism)
    return mechanism, float(goal.margin_deg(goal.advance_of(prediction), prediction.full_deg))
