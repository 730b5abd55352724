"""Figures measured off the part at fault.

A figure may be that of a sound part, or of the part as it was found, its fault included: who takes
a weak spring out of a unit and hangs it types the weak rate. Which of the two it is, nobody says.
So every explanation that alters a stated figure stands in the family twice: once its fault departs
from the figure, once the figure is what is left after the fault, and the sound unit is what the
table makes of the rest.

Notes
-----
What figures and table say of the sound unit is normal about its mode, z = z₀ + root · q. Where the
figures of some values P are those after a fault, which without it would be δ uncertainties less,
their cost is |z_P + δ|² instead of |z_P|². With C the covariance of z by figures and table, the
likeliest sound unit goes to z₀ − C_P δ; about it q is standard normal again, and the whole is

    |q|² + |G^½ δ + G^−½ z₀P|² − z₀P·G⁻¹·z₀P,   G = I − C_PP.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bobweight.core.arrays import Floats, Indices
from bobweight.core.judgement.faults import LEAST_SHARE, Effect, Fault
from bobweight.core.judgement.fit_values import FreeValue

AS_FOUND = {"unsaid": 0.07, "found": 0.97, "sound": 0.0}
"""Chance that a figure which a fault alters was measured with the fault, by what the docket says of
its figures (common practice)."""
_FIGURES = {"rate_n_per_mm", "free_length_mm", "slack_mm", "mass_g", "stop_deg"}
"""What is measured off a part that may be at fault."""
_HOW = ("share", "add", "swap")
_LEAST_TOLD = 1e-3  # of a figure's variance, that the table takes away
_MOST_MOVED = 60.0


class Altered(NamedTuple):
    """A stated figure that a fault alters: the row of its value, the fault's place in the family,
    what it does, and with which sign."""

    value: int
    fault: int
    effect: Effect
    sign: float


def altered(
    faults: Sequence[Fault], acting: Sequence[int], signs: Sequence[float],
    free: Sequence[FreeValue],
) -> tuple[Altered, ...]:  # fmt: skip
    """The stated figures that the acting faults alter, and that may have been measured with them,
    each once; none where one is beyond what a sound part with such a fault would leave."""
    row = {f.path: i for i, f in enumerate(free) if f.source != "assumed"}
    found: dict[int, Altered] = {}
    for j, sign in zip(acting, signs, strict=True):
        for e in faults[j].effects:
            if e.path in row and e.how in _HOW and str(e.path[-1]) in _FIGURES:
                f, more = free[row[e.path]], sign * e.sign
                if e.how == "add" and not f.low <= f.value - more * faults[j].usual <= f.high:
                    return ()
                found.setdefault(row[e.path], Altered(row[e.path], j, e, more))
    return tuple(found.values())


class AsFound:
    """The costs of explanations whose figures are of the part as it was found.

    Throughout ``which`` is the hypothesis of each point, shape (batch,), ``z`` its columns, (batch,
    values) of the sound unit or (batch, amounts), and ``moved`` as :meth:`moved` gives it.

    Parameters
    ----------
    free : sequence of FreeValue
        Values of the sound unit.
    z, root : array, shape (values,), (values, values)
        The likeliest point by figures and table, and the root of its covariance.
    figures : sequence of tuple of Altered
        For each hypothesis those that are of the part as found; none for most.

    Attributes
    ----------
    is_one : bool array, shape (hypotheses,)
    gain : array, shape (hypotheses,)
        What is to be taken off the squares of :meth:`squares`.
    """

    def __init__(
        self, free: Sequence[FreeValue], faults: Sequence[Fault], z: Floats, root: Floats,
        figures: Sequence[tuple[Altered, ...]],
    ):  # fmt: skip
        self.terms = list(dict.fromkeys(each for mine in figures for each in mine))
        count, self.most = len(figures), max((len(mine) for mine in figures), default=0)
        self.is_one = np.array([bool(mine) for mine in figures], bool)
        self.gain = np.zeros(count)
        self.term = np.zeros((count, self.most), int)
        self.acts, self.off = np.zeros((2, count, self.most))
        self.root = np.zeros((count, self.most, self.most))
        self.turn = np.zeros((count, self.most, len(z)))
        covariance = root @ root.T
        for h, mine in enumerate(figures):
            p, n = [each.value for each in mine], len(mine)
            if not n:
                continue
            told, axes = np.linalg.eigh(np.eye(n) - covariance[np.ix_(p, p)])
            size = np.sqrt(np.maximum(told, _LEAST_TOLD))
            self.term[h, :n] = [self.terms.index(each) for each in mine]
            self.acts[h, :n] = 1.0
            self.root[h, :n, :n] = axes * size @ axes.T
            self.off[h, :n] = axes / size @ axes.T @ z[p]
            self.turn[h, :n] = covariance[p]
            self.gain[h] = self.off[h] @ self.off[h]
        self._take_terms(free, faults)

    def _take_terms(self, free: Sequence[FreeValue], faults: Sequence[Fault]) -> None:
        """The terms as arrays, each of shape (terms,)."""
        of = [free[t.value] for t in self.terms]
        at = {f.path: f.value for f in free}
        acting = [faults[t.fault] for t in self.terms]
        how = np.array([_HOW.index(t.effect.how) for t in self.terms], int)
        self.value = np.array([t.value for t in self.terms], int)
        self.fault = np.array([t.fault for t in self.terms], int)
        self.share, self.swap = how == 0, how == 2
        self.sign = np.array([t.sign for t in self.terms])
        self.usual = np.array([f.usual for f in acting])
        self.spread, self.largest = (
            np.array([getattr(f, key) for f in acting]) for key in ("spread", "most")
        )
        self.stated, self.u, self.origin = (
            np.array([getattr(f, key) for f in of]) for key in ("value", "u", "origin")
        )
        self.by_share = np.array([f.by_share for f in of], bool)
        self.other = np.array([at.get(t.effect.other, 0.0) for t in self.terms])

    def moved(self, z: Floats, which: Indices) -> Floats:
        """By how many uncertainties the faults have moved the figures that are of parts as found,
        shape (batch, places), from the columns of all amounts; 0 for all others."""
        if not self.most:
            return np.zeros((len(which), 0))
        size = np.minimum(self.usual * np.exp(self.spread * z[:, self.fault]), self.largest)
        size = self.sign * size
        without = np.where(
            self.share, self.stated / np.maximum(1.0 + size, LEAST_SHARE), self.stated - size
        )
        without = np.where(self.swap, self.other, without)
        whole = np.where(self.by_share, self.stated - self.origin, 1.0)
        ratio = np.maximum((without - self.origin) / whole, 1e-9)
        by_share = np.log(np.where(self.by_share, ratio, 1.0)) / self.u
        each = -np.where(self.by_share, by_share, (without - self.stated) / self.u)
        each = np.clip(each, -_MOST_MOVED, _MOST_MOVED)
        found: Floats = np.take_along_axis(each, self.term[which], axis=1) * self.acts[which]
        return found

    def turned(self, which: Indices, moved: Floats) -> Floats:
        """How far the likeliest sound unit lies off, shape (batch, values)."""
        found: Floats = -np.einsum("bk,bkv->bv", moved, self.turn[which])
        return found

    def scattered(self, which: Indices, moved: Floats, count: int) -> Floats:
        """:meth:`moved` by value, shape (batch, count)."""
        found = np.zeros((len(which), count))
        if self.most:
            places = self.value[self.term[which]]
            np.add.at(found, (np.arange(len(which))[:, None], places), moved)
        return found

    def squares(self, which: Indices, moved: Floats) -> Floats:
        """Further residuals, with one that makes the costs of all hypotheses comparable, each with
        its own ``gain`` taken off."""
        more = np.einsum("bk,bkl->bl", moved, self.root[which]) + self.off[which]
        even = np.sqrt(self.gain.max(initial=0.0) - self.gain[which])
        return np.concatenate([more, even[:, None]], axis=1)

    def log_density(self, z: Floats, scattered: Floats) -> Floats:
        """What the logarithm of the density differs by at points z of the sound unit."""
        found: Floats = -0.5 * np.sum((2.0 * z + scattered) * scattered, axis=1)
        return found

    def information(self, z: Floats, which: Indices) -> Floats:
        """Second derivatives of half the cost by the amounts, (batch, amounts, amounts)."""
        step = 1e-4
        here, slopes = self.moved(z, which), np.zeros((*self.acts[which].shape, z.shape[1]))
        for j in sorted(set(self.fault.tolist())):  # numpy.unique loads numpy.ma
            beside = z.copy()
            beside[:, j] += step
            slopes[:, :, j] = (self.moved(beside, which) - here) / step
        slopes = self.root[which] @ slopes
        return np.asarray(np.swapaxes(slopes, 1, 2) @ slopes)

    def log_weight(self, h: int, moved: Floats) -> Floats:
        """Logarithm of how probable amounts are that move the figures so, what is open of the unit
        integrated out, against none that move them."""
        more = moved @ self.root[h] + self.off[h]
        found: Floats = 0.5 * (self.gain[h] - np.sum(more**2, axis=1))
        return found
