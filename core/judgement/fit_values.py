"""The values that readings may teach something about, each with what was known of it before.

Before the readings a value is taken as normal about what the docket says: with the uncertainty
stated there, else the trade's usual one. A spring rate without either is known to a share of
itself only, so it is handled by its logarithm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.frozen import frozen
from bobweight.core.judgement.assume import UNSTATED_FACTOR, Assumed
from bobweight.core.judgement.reduce import Reduced
from bobweight.core.mechanics.assumed import SPREADS
from bobweight.core.mechanics.capsule import as_triple, usable
from bobweight.core.mechanics.checks import figures_in_use
from bobweight.core.problems import Path, required
from bobweight.core.record import get, parameter_at, taken_at

UNLABELLED_RATE_SHARE = 0.3
"""Relative standard uncertainty of a spring rate that nobody has measured."""
_WIDTHS = 6.0
_INSTRUMENT = ("static_deg", "mark_error_deg", "tachometer_scale", "lag_ms")
_SCALES = ("tachometer_scale", "lag_ms")
_CAPSULE = ("start_kpa", "full_kpa", "full_deg", "friction_n")


@frozen
class FreeValue:
    """One value of the docket and what is known of it without the readings.

    Attributes
    ----------
    path : Path
        In the docket.
    value, u : float
        What the docket says, and its standard uncertainty; of the logarithm if ``by_share``.
    low, high : float
        Hard limits.
    unit : str
        Stored unit.
    source : {'stated', 'trade', 'range', 'assumed', 'suspected'}
        Where ``u`` comes from: ``assumed`` of a value that was blank, the last of one that a likely
        fault concerns.
    by_share : bool
        The value is ``origin + (value − origin) · exp(u z)`` instead of ``value + u z``.
    origin : float
        What it is a share from: 0, or for a length the one at which the spring is slack.
    """

    path: Path
    value: float
    u: float
    low: float
    high: float
    unit: str
    source: str
    by_share: bool = False
    origin: float = 0.0

    def at(self, z: Floats) -> Floats:
        """The value at z standard uncertainties from the docket's, within its limits."""
        whole = self.value - self.origin
        raw = self.origin + whole * np.exp(self.u * z) if self.by_share else self.value + self.u * z
        return np.clip(raw, self.low, self.high)

    def of(self, value: float) -> float:
        """The z of a value, within its limits; 0 where none moves it."""
        whole = self.value - self.origin
        if self.by_share:
            share = max((value - self.origin) / whole, 1e-9) if whole else 1.0
            z = float(np.log(share)) / self.u
        else:
            z = (value - self.value) / self.u
        return float(np.clip(z, *self.bounds))

    def slope(self, z: Floats) -> Floats:
        """Change of the value for a change of z."""
        share = self.u * (self.at(z) - self.origin)
        return share if self.by_share else np.full(np.shape(z), self.u)

    @property
    def bounds(self) -> tuple[float, float]:
        """Limits of z."""
        if self.by_share:
            return -_WIDTHS, _WIDTHS
        low, high = (self.low - self.value) / self.u, (self.high - self.value) / self.u
        return max(low, -_WIDTHS), min(high, _WIDTHS)

    @property
    def u_before(self) -> float:
        """Standard uncertainty before the readings, in the stored unit."""
        return abs(self.value - self.origin) * self.u if self.by_share else self.u


def free_values(docket: Docket, session: int, reduced: Reduced) -> tuple[FreeValue, ...]:
    """The values that a session's readings may bear upon.

    Parameters
    ----------
    session : int
        Index into ``docket.sessions``.
    reduced : Reduced
        That session; the capsule's values are free only if readings were taken with the pipe on.
    """
    places = [("mechanism", *place) for place in _mechanism_places(docket.mechanism)]
    found = [_free_value(docket, place) for place in places]
    pipe_on = bool(reduced.used(pipe_on=True).any())
    others = session_values(docket, session, pipe_on, _INSTRUMENT)
    return (*(f for f in found if f is not None), *others)


def session_values(
    docket: Docket, session: int, pipe_on: bool, instrument: tuple[str, ...] = _SCALES
) -> tuple[FreeValue, ...]:
    """The values of a session's instruments, and of the capsule if it was read with the pipe on."""
    places: list[Path] = [("sessions", session, "instrument", key) for key in instrument]
    if pipe_on:
        docket = by_triples(docket)
        for index, capsule in enumerate(docket.capsules):
            if usable((capsule,)):
                places += [("capsules", index, key) for key in _CAPSULE]
    found = [_free_value(docket, place) for place in places]
    return tuple(f for f in found if f is not None)


def mechanism_values(assumed: Assumed) -> tuple[FreeValue, ...]:
    """The values of a mechanism without blanks, each with what is known of it: stated, assumed, or
    as usual for that way of measuring. Paths are those of the docket.

    A figure whose uncertainty nobody stated may have been taken with calipers: it counts for half
    as sure as a careful hand's.
    """
    docket = Docket(mechanism=assumed.mechanism)
    found = []
    for place in _mechanism_places(assumed.mechanism):
        path = ("mechanism", *place)
        known = assumed.known.get(place)
        if known is None:
            value = _free_value(docket, path)
            if value is not None and value.source == "trade":
                value = replace(value, u=value.u * UNSTATED_FACTOR)
        else:
            parameter = parameter_at(docket, path)
            value = FreeValue(
                path, float(get(docket, path)), known.u, *parameter.hard,
                parameter.quantity.stored.symbol, "assumed", known.by_share, known.origin,
            )  # fmt: skip
        if value is not None:
            found.append(value)
    return tuple(found)


class ValueTable:
    """Many free values at once: from points z to values by path."""

    def __init__(self, free: tuple[FreeValue, ...]):
        self.paths = [f.path for f in free]
        self.value, self.u, self.low, self.high, self.origin = (
            np.array([getattr(f, key) for f in free])
            for key in ("value", "u", "low", "high", "origin")
        )
        self.by_share = np.array([f.by_share for f in free])

    def at(self, z: Floats) -> dict[Path, Floats]:
        """Values by path, each of shape (batch,), at points z of shape (batch, values); see
        :meth:`FreeValue.at`."""
        step = np.multiply(self.u[:, None], z.T, order="C")
        raw = self.value[:, None] + step
        share = self.by_share
        whole = self.value[share] - self.origin[share]
        raw[share] = self.origin[share, None] + whole[:, None] * np.exp(step[share])
        columns = np.minimum(np.maximum(raw, self.low[:, None]), self.high[:, None])
        return dict(zip(self.paths, columns, strict=True))


@frozen
class Suspicion:
    """A value that a likely fault concerns, and how far it may be from the docket's figure:
    ``u`` in its stored unit, or of its logarithm if ``by_share``."""

    path: Path
    u: float
    by_share: bool


def freed(free: tuple[FreeValue, ...], suspicions: tuple[Suspicion, ...]) -> tuple[FreeValue, ...]:
    """The values with those under suspicion less tightly held."""
    found = {f.path: f for f in free}
    for s in suspicions:
        f = found.get(s.path)
        if f is None:
            continue
        known = f.u_before / f.value if s.by_share and f.value else f.u_before
        if s.u > known and (f.value > 0 or not s.by_share):
            found[s.path] = replace(f, u=s.u, by_share=s.by_share, source="suspected")
    return tuple(found.values())


def by_triples(docket: Docket) -> Docket:
    """The docket with every usable capsule by start, full and degrees."""
    if not any(c.given_as == "dimensions" for c in usable(docket.capsules)):
        return docket
    capsules = tuple(as_triple(c) if usable((c,)) else c for c in docket.capsules)
    return docket.with_changes(capsules=capsules)


def _mechanism_places(mechanism: Mechanism) -> list[Path]:
    places = figures_in_use(mechanism)
    if mechanism.linkage.kind == "assumed":
        places += [("linkage", f"shape_{i + 1}") for i in range(len(SPREADS))]
    return [place for place in places if parameter_at(mechanism, place).uncertain]


def _free_value(docket: Docket, path: Path) -> FreeValue | None:
    value = taken_at(docket, path)
    if value is None:
        return None
    parameter = parameter_at(docket, path)
    stated = get(docket, path[:-1]).u.get(path[-1])
    unit = parameter.quantity.stored.symbol
    if stated is None and parameter.trade_u is None:
        low, high = parameter.hard
        return FreeValue(
            path, value, UNLABELLED_RATE_SHARE, low, high, unit, "range", by_share=True
        )
    if stated is None:
        return FreeValue(path, value, required(parameter.trade_u), *parameter.hard, unit, "trade")
    return FreeValue(path, value, stated, *parameter.hard, unit, "stated")
