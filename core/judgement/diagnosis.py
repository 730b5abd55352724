"""The record of a diagnosis: what may be wrong, how probable each is, and how large."""

from __future__ import annotations

from dataclasses import field

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.family import Family
from bobweight.core.judgement.fit_curves import ZERO
from bobweight.core.judgement.fit_values import Suspicion
from bobweight.core.judgement.sampling import Samples
from bobweight.core.problems import Path
from bobweight.core.record import parameter_at, put, taken_at

STORED = ("mechanism", "sessions", "capsules")
"""Where a value stands that the docket stores."""
_LIKELY = 0.1  # probability from which a fault is suspected
_AS_LIKELY = 3.0  # times, within which figures may be of a sound part or of that as found


@frozen
class FaultSize:
    """How far one value departs: its path, what it should be (the docket's figure, or where that
    is of the part as found, what the table makes of it), what a sound one has by all that is known,
    and the fitted one, which is off that by ``amount``.

    ``amount`` and ``u`` are the fault's own measure in ``unit`` (a share for rates and masses);
    the others are in the value's stored unit, ``value_unit``. Not ``measured`` is
    a size of which the readings told nothing: it and its uncertainty are those before them.
    """

    fault: str
    path: Path
    amount: float
    u: float
    unit: str
    nominal: float | None
    fitted: float | None
    u_fitted: float | None
    value_unit: str
    measured: bool = True
    sound: float | None = None


@frozen
class Explanation:
    """One explanation and how probable it is.

    Attributes
    ----------
    name : str
        Stable key of :mod:`core.judgement.faults`; a pair is joined by ``+``.
    side : {'unit', 'measurement', 'both', 'none'}
    probability : float
    sizes : tuple of FaultSize
    check_first : tuple of str
        Codes of what a hand checks first.
    place : int
        Rank, from 1; explanations that the readings cannot tell apart share it.
    alike : tuple of str
        The others of its place, as far as they and it are probable enough to be worth the words.
    """

    name: str
    side: str
    probability: float
    sizes: tuple[FaultSize, ...]
    check_first: tuple[str, ...]
    place: int = 0
    alike: tuple[str, ...] = ()


@frozen(eq=False)
class Diagnosis:
    """All explanations of one session, the most probable first.

    ``x``, ``hypothesis`` and ``covariance`` hold where each came to rest, in the same order.
    ``odds`` are the probabilities of the family's hypotheses, ``samples`` what the readings leave
    possible of those that are in question; ``log_evidence`` is that of all of them together.
    """

    explanations: tuple[Explanation, ...]
    x: Floats = field(repr=False)
    hypothesis: Indices = field(repr=False)
    covariance: Floats = field(repr=False)
    family: Family = field(repr=False)
    odds: Floats = field(repr=False)
    samples: Samples = field(repr=False)
    log_evidence: float = 0.0

    @property
    def first(self) -> Explanation:
        """The most probable."""
        return self.explanations[0]

    def probability(self, name: str) -> float:
        """The probability of an explanation; 0 if it was not considered."""
        return next((e.probability for e in self.explanations if e.name == name), 0.0)

    def docket_of(self) -> Docket:
        """The docket with the values that the leading explanation comes to, within their limits."""
        docket = self.family.docket
        values = self.family.values(self.x[:1], self.hypothesis[:1])
        for path, value in values.items():
            if path[0] not in STORED:
                continue
            low, high = parameter_at(docket, path).hard
            docket = put(docket, path, float(np.clip(value[0], low, high)))
        return docket

    def read_as(self) -> Docket:
        """The docket with the values of the leading explanation, the zero that its readings have
        in common put down to the mark."""
        x, which = self.x[:1], self.hypothesis[:1]
        path = (*self.family.simulator.instrument, "mark_error_deg")
        found, parameter = self.docket_of(), parameter_at(self.family.docket, path)
        mark = float(taken_at(found, path)) + float(self.family.values(x, which)[ZERO][0])
        return put(found, path, float(np.clip(mark, *parameter.hard)))

    @property
    def unsaid(self) -> bool:
        """Whether nobody says, and the readings do not show, if the figures that the leading
        explanation alters are of a sound part or of the part as found."""
        family, h = self.family, int(self.hypothesis[0])
        name = family.hypotheses[h].name
        mine = [i for i, each in enumerate(family.hypotheses) if each.name == name]
        likely = {family.hypotheses[i].as_found: self.odds[i] / family.hypotheses[i].weight
                  for i in sorted(mine, key=lambda i: self.odds[i])}  # fmt: skip
        if family.docket.mechanism.measured_off != "unsaid" or len(likely) < 2:
            return False
        return bool(max(likely.values()) < _AS_LIKELY * min(likely.values()))

    def place_of(self, name: str) -> int | None:
        """The place of an explanation, None if it was not considered."""
        return next((e.place for e in self.explanations if e.name == name), None)


def suspicions(diagnosis: Diagnosis) -> tuple[Suspicion, ...]:
    """The values that the likely faults concern, each twice as loosely held as the fault is usual,
    or by as much as it is put to another value."""
    family = diagnosis.family
    found: dict[Path, Suspicion] = {}
    for i, e in enumerate(diagnosis.explanations):
        if e.probability < _LIKELY:
            continue
        for j in family.hypotheses[diagnosis.hypothesis[i]].faults:
            for effect in family.faults[j].effects:
                u = 2.0 * family.faults[j].usual or 2.0
                if effect.how in ("set", "swap"):
                    usual = family.simulator.usual
                    there = usual(effect.other) if effect.how == "swap" else effect.sign
                    u = abs(usual(effect.path) - there)
                held = found.get(effect.path)
                if held is None or u > held.u:
                    by_share = effect.how in ("share", "none")
                    found[effect.path] = Suspicion(effect.path, u, by_share)
    return tuple(found.values())
