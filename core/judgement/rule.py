"""One rule: from what the unit may be to the word of decision, the act, and the reasons.

A unit is never passed by what was thought of it before: "inside" asks for readings on both sides of
every check point, and still four in five had a sound unit been no likelier than a faulty one.
"""

from __future__ import annotations

from typing import cast

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.guesses import frame_advice
from bobweight.core.docket.target import WAYS
from bobweight.core.frozen import frozen
from bobweight.core.judgement.advise import Advice, Adviser
from bobweight.core.judgement.alter import Cure
from bobweight.core.judgement.answer import (
    CANNOT_BE_TOLD,
    INSIDE,
    LIKELY,
    LOOKS_INSIDE,
    Help,
    PointJudgement,
    decision_word,
)
from bobweight.core.judgement.compare import Evidence
from bobweight.core.judgement.diagnosis import Diagnosis
from bobweight.core.judgement.faults import MARK_OFFSET, OTHER_TABLE, SEIZED, WRONG_FRAME
from bobweight.core.judgement.fit_distance import FAR_RPM
from bobweight.core.judgement.loss import (
    READING,
    loss_of_altering,
    loss_of_leaving,
)
from bobweight.core.judgement.posterior import Posterior, TargetBands, quantiles
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.judgement.told import UNTOUCHED
from bobweight.core.problems import Path, Problem
from bobweight.core.record import taken_at
from bobweight.core.statistics.robust import median

MEASURE_FIRST = 0.1
"""Chance of any fault of measurement from which that is looked at first."""
EXPLAINED = 0.5
"""... and from which it is taken to be why the readings by themselves say something else."""
SCATTER = 1.4
"""Readings that scatter so many times what is stated are told of."""
_SURELY = 0.8  # chance from which readings are said to show a zero
STATIC_DEG = 1.5
"""Degrees of the shaft that is read by which two zeros may differ untold."""
_LINE_FAR = 3.0  # standard uncertainties between the local line and the posterior
_FLAT_DEG = 0.3  # advance that is none, or all there is, within this
_NARROW_DEG = 0.4  # half-width of a row of a table below which no bench can tell (common practice)
_DECIDES = 0.1  # chance by which the middle of both branches must be inside the oftener
_NOT_READ = 1.0  # gain of a reading without which nothing may be passed
MOST_HELPS = 5


@frozen(eq=False)
class Ruled:
    """What the points of a target come to together.

    Attributes
    ----------
    points : tuple of PointJudgement
        Every point of the target.
    probability, even : float
        Chance of the whole: by the odds, and had a sound unit been as likely as a faulty one.
    decision : str
        One of :data:`core.judgement.answer.DECISIONS`, of the whole.
    inside : bool array, shape (samples,)
        Whether the unit of each sample lies inside everywhere.
    way_unread : str or None
        The way, rising or falling, that the table holds too and no reading was taken.
    frame : Problem or None
        That the table looks written for the other shaft.
    """

    points: tuple[PointJudgement, ...]
    probability: float
    even: float
    decision: str
    inside: Floats
    way_unread: str | None = None
    frame: Problem | None = None


def ruled(
    docket: Docket, target: TargetBands, posterior: Posterior, evidence: Evidence, reduced: Reduced
) -> Ruled:
    """The word of decision, and what it rests on.

    Parameters
    ----------
    evidence, reduced
        Of the readings judged, as they were taken.
    """
    around = read_around(target, posterior, reduced)
    unread = way_not_read(target, reduced)
    points, chance, even, inside = judged_points(target, posterior, evidence, around, unread)
    word = decision_of(chance, even, around[target.judged], unread)
    frame = frame_reason(docket, posterior.diagnosis, word)
    return Ruled(points, chance, even, word, inside, unread, frame)


def judged_points(
    target: TargetBands,
    posterior: Posterior,
    evidence: Evidence,
    around: Floats,
    way_unread: str | None = None,
) -> tuple[tuple[PointJudgement, ...], float, float, Floats]:
    """Every point of the target; the chance of the whole, by the odds and at even ones; and
    whether each sample's unit lies inside, shape (samples,)."""
    advance = target.advance(posterior, posterior.values)
    margins = np.full((len(advance), len(target.judged)), np.nan)
    margins[:, target.judged] = target.margin(advance)
    inside = (margins[:, target.judged] >= 0).all(axis=1)
    middle = advance.mean(axis=1)
    w = posterior.weight
    asked = target.asked
    found = []
    for k, kind in enumerate(asked.kind):
        where, vacuum = float(asked.where[k]), kind == "vacuum"
        mean = u = chance = branch = None
        if target.judged[k]:
            chance = min(float(w @ (margins[:, k] >= 0)), 1.0)
            branch = _branch_outside(target, w @ advance[:, :, k], k)
            branch = branch or _branch_deciding(target, w, advance[:, :, k], chance, k)
            shown = middle[:, k]
            if branch is not None:
                shown = advance[:, target.ways_of(k).index(branch), k]
            mean = float(w @ shown)
            u = float(np.sqrt(w @ (shown - mean) ** 2))
        readings, u_readings = evidence.estimate_deg[k], evidence.u_deg[k]
        word = decision_word(np.nan if chance is None else chance)
        if word in (INSIDE, LOOKS_INSIDE) and not around[k]:
            word = CANNOT_BE_TOLD
        elif word == INSIDE and way_unread and kind in ("check", "start"):
            word = LOOKS_INSIDE
        found.append(
            PointJudgement(
                kind, asked.index[k], None if vacuum else where, where if vacuum else None,
                float(asked.low_deg[k]), float(asked.high_deg[k]), mean, u, chance, word,
                None if np.isnan(readings) else float(readings),
                None if np.isnan(u_readings) else float(u_readings), bool(around[k]), branch,
            )
        )  # fmt: skip
    whole, even = (min(float(weight @ inside), 1.0) for weight in (w, posterior.even))
    return tuple(found), whole, even, np.asarray(inside)


def _branch_outside(target: TargetBands, advance_deg: Floats, k: int) -> str | None:
    """The branch farthest outside where the middle of all lies inside though one of them does not;
    else None. ``advance_deg`` of each branch, shape (ways,)."""
    low, high = target.low[k], target.high[k]
    inside = np.minimum(advance_deg - low, high - advance_deg)
    middle = float(advance_deg.mean())
    if not low <= middle <= high or inside.min() >= 0:  # nor where nothing is known of one
        return None
    return target.ways_of(k)[int(np.argmin(inside))]


def _branch_deciding(
    target: TargetBands, weight: Floats, advance_deg: Floats, chance: float, k: int
) -> str | None:
    """The branch that is inside least where the middle of all is so clearly oftener than all are
    that it would not tell why the chance is no better; else None. ``advance_deg`` of each sample
    and branch, shape (samples, ways)."""
    low, high = target.low[k], target.high[k]

    def within(deg: Floats) -> Floats:
        return np.asarray(weight @ ((deg >= low) & (deg <= high)))

    if len(target.ways_of(k)) < 2 or within(advance_deg.mean(axis=1)) - chance < _DECIDES:
        return None
    return target.ways_of(k)[int(np.argmin(within(advance_deg)))]


def read_around(target: TargetBands, posterior: Posterior, reduced: Reduced) -> Floats:
    """Whether each point has readings on both sides, or on one where the curve is level on as far
    as the point, read on either way; at the speeds that the tachometer truly showed, as far as that
    is known."""
    asked, used = target.asked, reduced.used()
    kind = np.array(asked.kind, dtype=object)
    around = np.ones(len(kind), dtype=bool)
    family = posterior.family
    tachometer: Path = ("sessions", family.session, "instrument", "tachometer_scale")
    true = 1.0
    if tachometer in posterior.values:
        true = float(posterior.weight @ posterior.values[tachometer])
        true /= float(taken_at(family.docket, tachometer))
    speed = true * reduced.speed_rpm[used][:, None]
    near = 2.0 * reduced.u_speed_rpm[used][:, None]
    if len(speed):
        where = np.where(kind == "ceiling", FAR_RPM, asked.where)
        falling = reduced.direction[used] == "falling"
        fast = [speed[way].max(initial=0.0) for way in (~falling, falling)]
        ends = np.array([speed.min(), *fast, *where])
        advance = posterior.advance(posterior.values, ends, WAYS)
        mean = np.tensordot(posterior.weight, advance, 1)
        low = mean[int(target.ways[0] == "falling"), :]
        # Where the advance comes down from is the stop, which it leaves later than it reaches it.
        climbs = mean[:, 3:] - mean[[0, 1], [1, 2]][:, None]
        climbs = climbs[[(~falling).any(), falling.any()]].min(axis=0)  # of the ways read
        below = (speed <= where + near).any(axis=0) | (low[0] - low[3:] < _FLAT_DEG)
        above = (speed >= where - near).any(axis=0) | (climbs < _FLAT_DEG)
        around = below & above
    on = reduced.used(pipe_on=True)
    kpa = reduced.depression_kpa[on]
    for k in np.flatnonzero(kind == "vacuum").tolist():
        near_kpa = 2.0 * reduced.u_depression_kpa[on]
        around[k] = bool(
            (kpa <= asked.where[k] + near_kpa).any() and (kpa >= asked.where[k] - near_kpa).any()
        )
    return around


def way_not_read(target: TargetBands, reduced: Reduced) -> str | None:
    """The way, rising or falling, that the table holds too and no reading was taken: of it only
    what is thought of friction speaks. None where every way was read, or was not noted, and where
    the table has no point of the curve."""
    ways = set(reduced.direction[reduced.used()].tolist())
    if not ways or "unknown" in ways or not target.curve.any():
        return None
    return next((way for way in target.ways if way not in ways), None)


def decision_of(
    probability: float, even: float, around: Floats, way_unread: str | None = None
) -> str:  # fmt: skip
    """The word for the whole."""
    word = decision_word(probability)
    if word in (INSIDE, LOOKS_INSIDE) and not (around.all() and even >= LIKELY):
        return CANNOT_BE_TOLD
    return LOOKS_INSIDE if word == INSIDE and way_unread else word


def action_of(so: Ruled, diagnosis: Diagnosis, cure: Cure, advice: Advice | None) -> str:
    """What to do now: a key of :data:`core.judgement.decision.ACTIONS`, by expected loss."""
    decision, probability = so.decision, so.probability
    if so.frame is not None or measurement_chance(diagnosis) >= MEASURE_FIRST:
        return "measure-first"
    if decision == INSIDE:
        return "leave-alone"
    if diagnosis.explanations and diagnosis.explanations[0].name == SEIZED:
        return "free-first"
    after = cure.steps[-1].probability_inside_after if cure.steps else 0.0
    if advice is not None and advice.best.loss_fall > READING:
        return "read-more"
    leave = float(loss_of_leaving(probability))
    if cure.steps and float(loss_of_altering(probability, after)) < leave:
        return "alter"
    if decision == LOOKS_INSIDE:
        return "read-more" if so.way_unread else "leave-alone"
    return "read-more" if decision == CANNOT_BE_TOLD else "nothing-helps"


def measurement_chance(diagnosis: Diagnosis) -> float:
    """Chance of any fault of measurement."""
    sides = ("measurement", "both")
    return sum(e.probability for e in diagnosis.explanations if e.side in sides)


def _chance_of(diagnosis: Diagnosis, fault: str) -> float:
    """Chance of all explanations that a fault is part of."""
    return sum(e.probability for e in diagnosis.explanations if fault in e.name.split("+"))


def reasons_of(
    so: Ruled, docket: Docket, session: int, posterior: Posterior, reduced: Reduced
) -> tuple[Problem, ...]:
    """What stands in the way of certainty, and what contradicts what; the gravest first."""
    diagnosis, s = posterior.diagnosis, posterior.simulator
    points, frame = so.points, so.frame
    readings: Path = ("sessions", session, "readings")
    instrument: Path = ("sessions", session, "instrument")
    found = [*_zero_reasons(docket, session, posterior)]
    zero_off = any(r.code != "static-differs" for r in found)
    chance = diagnosis.probability(OTHER_TABLE)
    none_shown = [r for r in found if abs(cast(float, r.facts["read"])) < STATIC_DEG]
    if ((zero_off and none_shown) or chance >= MEASURE_FIRST) and _holds_static(docket, session):
        stated = docket.sessions[session].instrument.static_taken_deg
        found = [Problem("static-in-table", ("target", "frame"), {"stated": stated, "unit": "°"},
                         False)]  # fmt: skip
    elif frame is None and chance >= MEASURE_FIRST:
        found.append(Problem("table-and-figures", ("target", "points"), {"chance": chance}, False))
    if frame is not None:
        found.insert(0, frame)
    found += _session_reasons(posterior)
    marks = _chance_of(diagnosis, MARK_OFFSET)
    mixed = frame is not None or _chance_of(diagnosis, WRONG_FRAME) >= MEASURE_FIRST
    if marks >= MEASURE_FIRST and not zero_off and not mixed:
        place = (*instrument, "mark_error_deg")
        found.append(Problem("mark-not-proved", place, {"chance": marks}, False))
    unread = [p for p in points if p.speed_rpm is not None and not p.read_around]
    # The ceiling's speed is the fastest that was read: it stands in no table.
    speeds = [cast(float, p.speed_rpm) for p in unread if p.kind != "ceiling"]
    if mixed:
        pass  # how far was read is not known before the shaft is
    elif speeds:
        ends = {"low": min(speeds), "high": max(speeds)}
        found.append(Problem("stretch-not-read", readings, ends, False))
    elif unread:
        found.append(Problem("ceiling-not-read", readings, {}, False))
    elif so.way_unread is not None:
        found.append(Problem(f"{so.way_unread}-not-read", readings, {}, False))
    if any(p.kind == "vacuum" for p in points) and not reduced.used(pipe_on=True).any():
        found.append(Problem("capsule-not-read", readings, {}, False))
    halves = [0.5 * (p.high_deg - p.low_deg) for p in points
              if p.kind == "check" and np.isfinite(p.high_deg - p.low_deg)]  # fmt: skip
    if halves and (half := float(median(halves))) < _NARROW_DEG:
        found.append(Problem("table-narrow", ("target", "points"), {"amount": half}, False))
    noise = posterior.noise()
    if noise >= SCATTER:
        place = (*instrument, "u_angle_deg")
        found.append(Problem("readings-scatter", place, {"factor": noise}, False))
    if so.decision == CANNOT_BE_TOLD and so.probability >= LIKELY > so.even and not unread:
        found.append(Problem("decided-by-odds", readings, {}, False))
    apart = [p.speed_rpm for p in points if p.speed_rpm is not None and _line_far(p)]
    if measurement_chance(diagnosis) >= EXPLAINED:
        apart = []
    if apart and noise < SCATTER and not zero_off:
        scale = s.ratio / docket.sessions[session].instrument.scale_taken
        facts = {"value": apart[0] * scale, "unit": "rev/min"}
        found.append(Problem("line-disagrees", readings, facts, False))
    return tuple(found)


def _session_reasons(posterior: Posterior) -> list[Problem]:
    """The other sessions of the same state whose readings say that something was done since."""
    diagnosis, told = posterior.diagnosis, posterior.family.told
    found: list[Problem] = []
    if told is None:
        return found
    parts = [posterior.family.parts(posterior.family.hypotheses[h]) for h in diagnosis.hypothesis]
    for other, faults in zip(told.sessions, told.faults, strict=True):
        changed = sum(
            e.probability * faults.changed(each)
            for e, each in zip(diagnosis.explanations, parts, strict=True)
        )
        if faults.left == UNTOUCHED and changed >= _SURELY:
            facts = {"chance": float(changed), "name": faults.leads}
            found.append(Problem("sessions-differ", ("sessions", other), facts, False))
    return found


def frame_reason(docket: Docket, diagnosis: Diagnosis, decision: str) -> Problem | None:
    """That the table looks written for the other shaft, where the unit does not keep it as it is
    said to be, or the readings look noted for the other shaft too."""
    mixed = _chance_of(diagnosis, WRONG_FRAME) >= MEASURE_FIRST
    if decision in (INSIDE, LOOKS_INSIDE) and not mixed:
        return None
    place: Path = ("target", "frame")
    advice = next((p for p in frame_advice(docket) if p.path == place), None)
    if advice is None:
        return None
    shaft = "distributor" if advice.facts["likely"] == "distributor" else "crank"
    facts = {"value": advice.facts["value"], "most": advice.facts["most_deg"], "unit": "°"}
    return Problem(f"table-looks-{shaft}", place, facts, grave=False)


def _line_far(p: PointJudgement) -> bool:
    """Whether the local line and the posterior differ by more than chance, curvature allowed."""
    if p.speed_rpm is None or p.readings_deg is None or p.advance_deg is None:
        return False
    u = np.hypot(np.hypot(p.u_readings_deg or 0.0, p.u_deg or 0.0), 0.5)
    return bool(abs(p.readings_deg - p.advance_deg) > _LINE_FAR * u)


def _holds_static(docket: Docket, session: int) -> bool:
    """Whether every point of a table that is told without the static lies no lower than it, as if
    it were written as a lamp reads."""
    target, instrument = docket.target, docket.sessions[session].instrument
    limits = [d for p in target.points for d in (p.least_deg, p.most_deg) if d is not None]
    if target.frame_taken != "crank" or instrument.kind_taken != "lamp" or not limits:
        return False
    least = min(limits) + STATIC_DEG
    return least >= instrument.static_taken_deg > 2.0 * STATIC_DEG


def _zero_reasons(docket: Docket, session: int, posterior: Posterior) -> list[Problem]:
    """What the readings show with no advance, against what the session and the docket say."""
    instrument = docket.sessions[session].instrument
    all_of_it, (_, u) = posterior.zero_shown(), posterior.zero_deg()
    told = (s.amount for e in posterior.diagnosis.explanations[:1] for s in e.sizes
            if s.fault == MARK_OFFSET)  # fmt: skip
    middle = float(quantiles(all_of_it, posterior.weight, (0.5,))[0])
    zero = next(told, middle)  # as the explanation told first has it
    wanted = docket.setting_up.static_deg
    place = ("sessions", session, "instrument", "static_deg")
    read = instrument.static_taken_deg + instrument.mark_error_taken_deg + zero
    off = posterior.weight @ (np.abs(all_of_it) > STATIC_DEG) >= _SURELY
    if instrument.kind_taken != "lamp":
        return []
    facts = {"stated": instrument.static_taken_deg, "read": read, "unit": "°"}
    differs = wanted is not None and abs(wanted - instrument.static_taken_deg) > STATIC_DEG
    if not off:  # readings that show the zero say which is right; without them it is to be told
        if differs and 2.0 * u > STATIC_DEG:
            return [Problem("static-differs", place, {**facts, "wanted": wanted}, False)]
        return []
    if differs and wanted is not None and abs(read - wanted) < abs(zero):
        return [Problem("static-disagrees", place, {**facts, "wanted": wanted}, False)]
    return [Problem("base-disagrees", place, facts, False)]


def helps_of(so: Ruled, adviser: Adviser, advice: Advice | None, scale: float) -> tuple[Help, ...]:
    """What would help the decision most; ``scale`` is shown speed per distributor speed."""
    found = []
    unread = [p.speed_rpm for p in so.points if p.speed_rpm is not None and not p.read_around]
    speeds = [p.speed_rpm for p in so.points if p.kind == "check" and p.speed_rpm is not None]
    if so.frame is not None:
        return ()  # nothing is worth its while before the table's shaft is sure
    if _chance_of(adviser.posterior.diagnosis, WRONG_FRAME) >= MEASURE_FIRST:
        pass  # twice the speed that is meant is dangerous: the frame comes first
    elif so.way_unread and speeds and not unread:
        speed = sorted(speeds)[len(speeds) // 2] * scale
        found.append(Help("read-way", _NOT_READ, speed_rpm=float(speed), direction=so.way_unread))
    elif unread:
        speed = max(unread) * scale
        found.append(Help("read-stretch", _NOT_READ, speed_rpm=float(speed), direction="rising"))
    if so.decision == INSIDE and not unread:
        return ()
    if advice is not None and advice.best.loss_fall > READING:
        best = advice.best
        found.append(Help("read", best.loss_fall - READING, (), best.speed_rpm,
                          best.direction, best.depression_kpa))  # fmt: skip
    for what, path, u, gain in adviser.measurements():
        if gain > 0:
            found.append(Help(what, gain, path, u=u))
    return tuple(sorted(found, key=lambda h: -h.gain)[:MOST_HELPS])
