"""What the other sessions of a unit tell of it, as one session's judgement takes it in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from functools import cached_property

import numpy as np

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen

Parts = frozenset[tuple[str, float]]
"""The faults of an explanation, by key and sign."""
NOTHING: Parts = frozenset()
UNTOUCHED, BESIDES = 0.7, 0.4
"""Chance that a fault was left as it was between two sessions (common practice): where nobody noted
anything, since who reads again has mostly cleaned something meanwhile; and of what an alteration
did not touch."""
MISLED = 0.1
"""Chance that what a session tells of the values is not so: a part was exchanged and nobody noted
it, or its readings were explained wrongly (common practice)."""
_LEAST = 1e-12


@frozen(eq=False)
class FaultsTold:
    """How probable another session's readings are under each explanation.

    Attributes
    ----------
    weight, evidence : mapping
        Prior odds and evidence of an explanation, by the part of it that lasts from session to
        session (a fault of the unit) and the part that does not (of the instruments, or altered).
    left : float
        Chance that what lasts was left as it was.
    amounts : mapping
        Mean and standard deviation of a lasting fault's amount after those readings, by its key;
        the amount's own column, standard normal before them.
    leads : str
        What that session's readings alone speak of most.
    """

    weight: Mapping[tuple[Parts, Parts], float]
    evidence: Mapping[tuple[Parts, Parts], float]
    left: float = UNTOUCHED
    amounts: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    leads: str = ""

    def log_evidence(self, parts: Parts) -> float:
        """Logarithm of how much likelier the other readings are where a fault has been there all
        the time than where none has; 0 for a fault that session could not have seen."""
        parts = frozenset(p for p in parts if p in self._seen)
        if parts not in self._lasting:
            return 0.0
        found, none = (
            self.left * self._of(each) + (1.0 - self.left) * self._whatever
            for each in (parts, NOTHING)
        )
        return float(np.log(max(found, _LEAST) / max(none, _LEAST)))

    def changed(self, parts: Parts) -> float:
        """Chance that something was done between the sessions where these are the faults now."""
        return 1.0 - self._as_was(frozenset(p for p in parts if p in self._seen))

    def amount(self, key: str) -> tuple[float, float]:
        """Mean and standard deviation of a fault's amount as it is now: left as it was, or another
        one since."""
        if key not in self.amounts:
            return 0.0, 1.0
        mean, u = self.amounts[key]
        share = self._as_was(frozenset({(key, 1.0)}))
        spread = share * u**2 + (1.0 - share) + share * (1.0 - share) * mean**2
        return share * mean, float(np.sqrt(spread))

    def _as_was(self, parts: Parts) -> float:
        """Chance that what lasts was left as it was, where these are the faults now."""
        as_was = self.left * self._of(parts)
        return as_was / max(as_was + (1.0 - self.left) * self._whatever, _LEAST)

    @cached_property
    def _whatever(self) -> float:
        """Evidence of those readings, whatever was wrong."""
        total = sum(self.weight[k] * e for k, e in self.evidence.items())
        return total / sum(self.weight.values())

    @cached_property
    def _lasting(self) -> set[Parts]:
        return {lasting for lasting, _ in self.evidence}

    @cached_property
    def _seen(self) -> Parts:
        return frozenset().union(*self._lasting)

    def _of(self, parts: Parts) -> float:
        """Evidence of what lasts, whatever else was that session's own. What was not weighed
        together is as probable as that of its own, unless the readings speak against the rest."""
        alone = [own for lasting, own in self.evidence if lasting == NOTHING]
        total = sum(self.weight[NOTHING, own] for own in alone)
        single = self.evidence.get((parts, NOTHING), 0.0)
        against = min(1.0, single / max(self.evidence[NOTHING, NOTHING], _LEAST))
        found = 0.0
        for own in alone:
            together = self.evidence.get((parts, own))
            if together is None:
                together = self.evidence[NOTHING, own] * against
            found += self.weight[NOTHING, own] / total * together
        return found


@frozen(eq=False)
class Told:
    """What other sessions tell of a unit.

    Attributes
    ----------
    sessions : tuple of int
        Which they are, by index.
    matrix, offset : array, shape (rows, values), (rows,)
        matrix · z − offset are as many residuals more of the sound unit's values.
    counts : tuple of int
        How many of the rows each session tells.
    faults : tuple of FaultsTold
        Of sessions between which nothing was noted, or an alteration says what it touched.
    """

    sessions: tuple[int, ...]
    matrix: Floats = field(repr=False)
    offset: Floats = field(repr=False)
    counts: tuple[int, ...] = ()
    faults: tuple[FaultsTold, ...] = field(default=(), repr=False)

    def residuals(self, z: Floats) -> Floats:
        """The further residuals at points z, shape (batch, rows); those of a session together cost
        no more than that it may mislead."""
        found: Floats = z @ self.matrix.T - self.offset
        for rows in np.split(np.arange(found.shape[1]), np.cumsum(self.counts)[:-1]):
            cost = np.maximum(np.sum(found[:, rows] ** 2, axis=1), _LEAST)
            less = -2.0 * np.log((1.0 - MISLED) * np.exp(-0.5 * cost) + MISLED)
            found[:, rows] *= np.sqrt(less / cost)[:, None]
        return found

    def log_evidence(self, parts: Parts) -> float:
        """As :meth:`FaultsTold.log_evidence`, of all of them."""
        return sum(each.log_evidence(parts) for each in self.faults)

    def amount(self, key: str) -> tuple[float, float]:
        """As :meth:`FaultsTold.amount`, of the session that knows it best."""
        return min((each.amount(key) for each in self.faults), key=lambda a: a[1],
                   default=(0.0, 1.0))  # fmt: skip

    @cached_property
    def alone(self) -> tuple[Floats, Floats]:
        """Mean, and root of the covariance, of values that are standard normal but for this."""
        covariance = np.linalg.inv(np.eye(self.matrix.shape[1]) + self.matrix.T @ self.matrix)
        return covariance @ self.matrix.T @ self.offset, np.linalg.cholesky(covariance)
