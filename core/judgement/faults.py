"""The faults that readings may speak of: one table of stable keys.

A fault is a departure of one amount from the docket's figures, which are taken to describe the
sound unit. Before the readings its size is log-normal about the usual one (common practice), so
that a fault is never of no size, and "nothing wrong" stays an explanation of its own.

The weights are prior odds, common practice: faults that every restorer meets weekly have 1. They
are relative; :mod:`core.judgement.diagnose` brings them to one.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.fit_curves import BACKLASH, DRIFT, FLIPPED, MAGNIFIED, RATIO, REST
from bobweight.core.mechanics.balance import Balance
from bobweight.core.mechanics.builds import Builds, mass_paths
from bobweight.core.mechanics.capsule import usable
from bobweight.core.mechanics.linkage import linkage_class
from bobweight.core.problems import Path
from bobweight.core.statistics.robust import median

NOTHING_WRONG = "nothing_wrong"
NONE_OF_THESE = "none_of_these"
MARK_OFFSET = "mark_offset"
WRONG_FRAME = "wrong_frame"
OTHER_TABLE = "other_table"
WEIGHT_NOTHING = 12.0
WEIGHT_NOTHING_AFTER = 60.0
WEIGHT_NONE = 0.3
PAIR_WEIGHT = 0.06
"""Odds of a likely pair, against a common single fault; of three at once, a third of that."""
SEIZED = "advance_seized"
SEIZED_DEG = 0.1
"""What a seized advance is taken to give: the least stop that a docket may have."""

LEAST_SHARE = 0.1
"""Of a value, that a fault leaves at least."""


@frozen
class Effect:
    """What an amount does to one value of the docket.

    ``how``: ``add`` (value + amount), ``share`` (value · (1 + amount)), ``none`` (value · 0),
    ``set`` (to ``sign``), ``swap`` (with the value at ``other``). ``sign``: times the amount.
    """

    path: Path
    how: str
    sign: float = 1.0
    other: Path = ()

    def on(self, value: Floats, amount: Floats, at_other: Floats | None = None) -> Floats:
        """The value once it acts, each of shape (batch,); it does not where the amount is 0.

        Parameters
        ----------
        amount : array
            Of the fault, with its sign.
        at_other : array, optional
            The value at ``other``, for a swap.
        """
        if self.how == "add":
            return value + self.sign * amount
        if self.how == "share":
            return value * np.maximum(1.0 + self.sign * amount, LEAST_SHARE)
        now = self.sign if self.how == "set" else 0.0
        return np.where(amount != 0, now if at_other is None else at_other, value)


@frozen
class Fault:
    """One explanation: where it acts, how big it usually is, and what a hand checks first.

    Attributes
    ----------
    key : str
        Stable: written in files and output.
    side : {'unit', 'measurement'}
        A fault of measurement asks for no spanner.
    effects : tuple of Effect
        Empty for the forgotten pipe, which adds to the readings themselves: from ``amount`` rev/min
        of the distributor, by the capsule's movement or, where no capsule is described, by one of
        usual size.
    usual, spread : float
        Median amount and the standard deviation of its logarithm; ``usual`` 0 means there is no
        amount (a spring is missing).
    unit : str
        Unit of the amount; ``share`` is a fraction of the value.
    weight : float
        Prior odds.
    check_first : str
        Code of what a hand checks first.
    signs : tuple of float
        Both signs for a fault that may go either way.
    most : float
        Largest amount considered.
    """

    key: str
    side: str
    effects: tuple[Effect, ...]
    usual: float
    spread: float
    unit: str
    weight: float
    check_first: str
    signs: tuple[float, ...] = (1.0,)
    most: float = np.inf
    pipe: bool = False

    def amount(self, z: np.ndarray) -> np.ndarray:
        """The amount (without sign) at z standard deviations of its logarithm."""
        if self.usual == 0:
            return np.ones_like(z)
        return np.minimum(self.usual * np.exp(self.spread * z), self.most)

    def narrowed(self, mean: float, u: float) -> Fault:
        """The same fault where its amount is known, in its own z, to be about ``mean`` ± ``u``."""
        usual = self.usual * float(np.exp(self.spread * mean))
        return replace(self, usual=usual, spread=self.spread * u)


def faults_of(docket: Docket, session: int, capsule_read: bool) -> tuple[Fault, ...]:
    """The single faults that this docket can have and these readings may show.

    Parameters
    ----------
    session : int
        Index into ``docket.sessions``.
    capsule_read : bool
        Readings were taken with the pipe on, and the capsule is known.
    """
    springs = docket.mechanism.springs
    light = [i for i, s in enumerate(springs) if s.role == "primary"] or [0]
    heavy = [i for i in range(len(springs)) if i not in light]
    found = _spring_faults("primary", light)
    if heavy:
        found += _spring_faults("secondary", heavy)
        late = [Effect(_spring(i, "slack_mm"), "add") for i in heavy]
        found.append(
            Fault("secondary_late", "unit", tuple(late), 0.7, 0.4, "mm", 1.0, "loop-and-post")
        )
        early = tuple(Effect(e.path, "add", -1.0) for e in late)
        found.append(Fault("secondary_early", "unit", early, 0.6, 0.4, "mm", 0.6, "loop-and-post"))
        worn = tuple(Effect(_spring(i, "slack_mm"), "add") for i in range(len(springs)))
        found.append(Fault("pegs_worn", "unit", worn, 0.6, 0.35, "mm", 0.5, "pegs-and-pivots"))
        found.append(_swapped(light, heavy))
        rates = tuple(Effect(_spring(i, "rate_n_per_mm"), "share") for i in range(len(springs)))
        found.append(Fault("springs_other", "unit", rates, 0.35, 0.4, "share", 0.15,
                           "hang-springs", (1.0, -1.0), 0.85))  # fmt: skip
    found += _unit_faults(docket)
    found += _measurement_faults(session, docket)
    if capsule_read:
        found += _capsule_faults(docket)
    return tuple(found)


PAIRS = (
    ("primary_weak", "secondary_weak"),
    ("primary_weak", "secondary_late"),
    ("primary_weak", "stop_high"),
    ("primary_stretched", "secondary_late"),
    ("sticking", "primary_weak"),
    ("secondary_late", "stop_high"),
    ("sticking", "direction_mistaken"),
    ("primary_weak", "secondary_late", "stop_high"),
)
"""Faults that come together often enough to be tried (common practice). An offset of the
mark joins every explanation by itself: see :mod:`core.judgement.diagnose`."""


def weight_of_nothing(docket: Docket, session: int) -> float:
    """Prior odds that nothing is wrong: higher after work on the unit than as it was found."""
    done = (line.after_session for line in docket.history)
    after = any(number is not None and number <= session + 1 for number in done)
    return WEIGHT_NOTHING_AFTER if after else WEIGHT_NOTHING


def _mechanism(*place: str | int) -> Path:
    return ("mechanism", *place)


def _spring(index: int, key: str) -> Path:
    return _mechanism("springs", index, key)


def _spring_faults(name: str, springs: list[int]) -> list[Fault]:
    rates = [_spring(i, "rate_n_per_mm") for i in springs]
    weak = tuple(Effect(p, "share", -1.0) for p in rates)
    strong = tuple(Effect(p, "share") for p in rates)
    gone = tuple(
        Effect(_spring(i, key), "none")
        for i in springs
        for key in ("rate_n_per_mm", "initial_tension_n")
    )
    found = [
        Fault(f"{name}_weak", "unit", weak, 0.28, 0.4, "share", 1.0, f"hang-{name}", most=0.85),
        Fault(f"{name}_strong", "unit", strong, 0.40, 0.4, "share", 0.5, f"hang-{name}", most=3.0),
        Fault(f"{name}_missing", "unit", gone, 0.0, 0.0, "", 0.3, "look-at-springs"),
    ]
    if name == "primary":
        stretched = tuple(Effect(_spring(i, "free_length_mm"), "add") for i in springs)
        found.append(
            Fault("primary_stretched", "unit", stretched, 0.7, 0.4, "mm", 1.0, "length-primary")
        )
    return found


def _unit_faults(docket: Docket) -> list[Fault]:
    stop = (Effect(_mechanism("stop_deg"), "add"),)
    lower = (Effect(_mechanism("stop_deg"), "add", -1.0),)
    masses = [_mechanism(*path) for path in mass_paths(docket.mechanism)]
    lighter = tuple(Effect(mass, "share", -1.0) for mass in masses)
    heavier = tuple(Effect(mass, "share") for mass in masses)
    stick = (Effect(_mechanism("stick_nmm"), "add"),)
    # What one weight pulls more than the other pushes the shaft aside (common practice).
    side = Effect(_mechanism("grip"), "add", 0.3)
    seized = (Effect(_mechanism("stop_deg"), "set", SEIZED_DEG),)
    # What sticking is depends on the size of the unit: a share of the pull near rest, where the cam
    # still comes back; there it parts the branches by some 200 rev/min (common practice).
    usual = max(0.35 * _torque_near_rest_nmm(docket), 3.0)
    found = [
        Fault("stop_high", "unit", stop, 2.0, 0.35, "deg", 0.6, "stop"),
        Fault("stop_low", "unit", lower, 2.0, 0.35, "deg", 0.5, "stop"),
        Fault("sticking", "unit", stick, usual, 0.4, "nmm", 1.0, "clean-and-oil"),
        Fault(SEIZED, "unit", seized, 0.0, 0.0, "", 0.3, "free-the-cam"),
        Fault(
            "cam_not_returning", "unit", (Effect(REST, "add"),), 2.0, 0.5, "deg", 0.3, "cam-returns"
        ),
    ]
    if "mass_g" not in linkage_class(docket.mechanism).weight_needs:
        return found
    return [
        *found,
        Fault("weights_light", "unit", lighter, 0.3, 0.35, "share", 0.2,
              "weigh-weights", most=0.8),
        Fault("weights_unequal", "unit", (*lighter, side), 0.15, 0.35, "share", 0.15,
              "weigh-weights", most=0.4),
        Fault("weights_heavy", "unit", heavier, 0.35, 0.35, "share", 0.2,
              "weigh-weights", most=2.0),
    ]  # fmt: skip


def _torque_near_rest_nmm(docket: Docket) -> float:
    """Median torque of the springs in the first third of the travel."""
    balance = Balance(Builds(docket.mechanism))
    theta = np.linspace(0.0, 0.3, 7).reshape(1, 1, -1) * balance.stop_rad
    swing = balance.motion.at(theta)
    total = np.zeros(theta.shape)
    for path, on in zip(balance.paths, balance.engaged_at(theta), strict=True):
        total += np.where(on, path.torque_nmm(theta, swing), 0.0)
    return float(median(np.ravel(total)))


def _swapped(light: list[int], heavy: list[int]) -> Fault:
    """Primary and secondary on each other's posts; loop and all go with the spring."""
    pairs = list(zip(light, heavy, strict=False))
    keys = ("rate_n_per_mm", "free_length_mm", "initial_tension_n", "slack_mm")
    effects = tuple(
        Effect(_spring(a, key), "swap", other=_spring(b, key))
        for i, j in pairs
        for a, b in ((i, j), (j, i))
        for key in keys
    )
    return Fault("springs_swapped", "unit", effects, 0.0, 0.0, "", 0.15, "look-at-springs")


def _measurement_faults(session: int, docket: Docket) -> list[Fault]:
    place = ("sessions", session, "instrument")
    one_way = len({r.direction for r in docket.sessions[session].readings}) < 2
    scale = (Effect((*place, "tachometer_scale"), "share"),)
    lag = (Effect((*place, "lag_ms"), "add"),)
    both = (1.0, -1.0)
    kind, ratio = docket.sessions[session].instrument.kind_taken, docket.particulars.ratio_taken
    found = [
        Fault("tachometer_scale", "measurement", scale, 0.16, 0.6, "share", 0.6, "check-tachometer",
              both, 0.6),
        # Who notes one direction alone may not have minded it.
        Fault("direction_mistaken", "measurement", (Effect(FLIPPED, "set"),), 0.0, 0.0, "",
              0.3 if one_way else 0.1, "note-direction"),
    ]  # fmt: skip
    other = 1.0 if kind == "lamp" else 2.0
    if ratio != 1.0 or kind != "lamp":
        frame = [Effect(RATIO, "set", other)]
        if kind == "lamp":  # a rig stands at zero with no advance
            zero = ("static_deg", "mark_error_deg")
            frame += [Effect((*place, key), "set", 0.0) for key in zero]
        found.append(
            Fault(WRONG_FRAME, "measurement", tuple(frame), 0.0, 0.0, "", 0.15, "check-frame")
        )
    if kind == "lamp":
        found += [
            Fault("lamp_lag", "measurement", lag, 0.2, 0.4, "ms", 0.3, "other-lamp", most=1.5),
            Fault("tape_wrong", "measurement", (Effect(MAGNIFIED, "share"),), 0.18, 0.5, "share",
                  0.08, "check-tape", both, 0.5),
            Fault("lamp_doubles", "measurement", (Effect(MAGNIFIED, "set", 2.0),), 0.0, 0.0, "",
                  0.05, "other-lamp"),
            Fault("static_drifts", "measurement", (Effect(DRIFT, "add"),), 3.0, 0.4, "deg", 0.15,
                  "clamp-tight", both),
            Fault("drive_backlash", "measurement", (Effect(BACKLASH, "add"),), 1.5, 0.4, "deg", 0.3,
                  "turn-drive"),
            Fault("pipe_left_on", "measurement", (), 250.0, 0.7, "rpm", 0.4, "pipe-off",
                  most=3000.0, pipe=True),
        ]  # fmt: skip
    return found


def _capsule_faults(docket: Docket) -> list[Fault]:
    first = next((i for i, c in enumerate(docket.capsules) if usable((c,))), 0)
    start, full, most = (("capsules", first, key) for key in ("start_kpa", "full_kpa", "full_deg"))
    friction = (Effect(("capsules", first, "friction_n"), "add"),)
    return [
        Fault("capsule_weak", "unit",
              (Effect(start, "share", -1.0), Effect(full, "share", -1.0)), 0.3, 0.5, "share", 0.3,
              "capsule-pump", most=0.9),
        Fault("capsule_leaking", "unit", (Effect(start, "share"), Effect(full, "share")), 1.0, 1.0,
              "share", 0.6, "capsule-holds", most=60.0),
        # Another number's, its stop, or a bent rod: what it moves may be either way off.
        Fault("capsule_travel", "unit", (Effect(most, "share"),), 0.3, 0.5, "share", 0.2,
              "capsule-number", (1.0, -1.0), 0.9),
        Fault("plate_stiff", "unit", friction, 6.0, 0.6, "N", 0.5, "plate-free"),
    ]  # fmt: skip
