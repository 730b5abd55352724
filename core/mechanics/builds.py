"""A mechanism's numbers as arrays: one build, or many that differ in some values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.latest import Latest
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import check_number_path, taken_at

Array = np.ndarray | float


_OWN = {
    "mass_g": "weights", "pivot_radius_mm": "weights", "cg_mm": "weights",
    "rest_angle_deg": "weights", "ratio": "linkage", "pin_radius_mm": "linkage",
    "pin_angle_deg": "linkage", "foot_radius_mm": "linkage", "link_mm": "linkage",
}  # fmt: skip
"""What the curve needs and a weight may have of its own, with the record it is otherwise in."""


def unlike_weights(mechanism: Mechanism) -> list[int]:
    """Indices of the weights that have a figure of their own which the curve depends on."""
    weights = mechanism.weights
    rows = enumerate(weights.each[: weights.count_taken])
    return [i for i, row in rows if any(getattr(row, key) is not None for key in _OWN)]


def mass_paths(mechanism: Mechanism) -> list[Path]:
    """Paths of the masses in use: that of all, and those that single weights have of their own."""
    each = mechanism.weights.each[: mechanism.weights.count_taken]
    own: list[Path] = [
        ("weights", "each", i, "mass_g") for i, row in enumerate(each) if row.mass_g is not None
    ]
    return own if len(own) == mechanism.weights.count_taken else [("weights", "mass_g"), *own]


def of_one_weight(mechanism: Mechanism, index: int | None, count: int = 1) -> Mechanism:
    """The mechanism with the figures of one weight (None: of those that have none of their own) in
    place of those of all, and as many weights."""
    weights, linkage = mechanism.weights, mechanism.linkage
    if index is None or index >= len(weights.each):
        if count == weights.count_taken:
            return mechanism
        return replace(mechanism, weights=replace(weights, count=count))
    row = weights.each[index]
    own: dict[str, dict[str, Any]] = {"weights": {"count": count}, "linkage": {}}
    for key, owner in _OWN.items():
        if getattr(row, key) is not None:
            own[owner][key] = getattr(row, key)
    return replace(
        mechanism,
        weights=replace(weights, **own["weights"]),
        linkage=replace(linkage, **own["linkage"]),
    )


_checked: Latest[set[Path]] = Latest()


def _check_paths(mechanism: Mechanism, paths: Iterable[Path]) -> None:
    """Refuse a path that leads to no number. One mechanism is mostly asked for hundreds of times in
    a row with the same paths: what was found of the last one is kept."""
    known = _checked.of(mechanism, make=set)
    for path in paths:
        if path not in known:
            check_number_path(mechanism, path)
            known.add(path)


class Builds:
    """One mechanism, or many builds of it.

    Parameters
    ----------
    mechanism : Mechanism
        Gives the structure (linkage kind, number of springs, mounts) and every value not varied.
    varied : mapping of path to array, shape (builds,)
        Values that differ between the builds, by path inside the mechanism, in stored units:
        ``{("springs", 0, "rate_n_per_mm"): array}``. All of one length, or of length 1.

    Raises
    ------
    BobweightError
        ``no-such-number`` for a path that leads to no number of the mechanism;
        ``unequal-columns`` for arrays of different lengths.
    """

    def __init__(self, mechanism: Mechanism, varied: Mapping[Path, np.ndarray] | None = None):
        self.mechanism = mechanism
        _check_paths(mechanism, varied or ())
        self.varied = {
            path: np.asarray(values, dtype=float).reshape(-1, 1, 1)
            for path, values in (varied or {}).items()
        }
        self.count = max((len(values) for values in self.varied.values()), default=1)
        for path, values in self.varied.items():
            if len(values) not in (1, self.count):
                raise BobweightError("unequal-columns", path, first=self.count, other=len(values))

    def value(self, *path: str | int) -> float | np.ndarray:
        """The value at a path: a number, or an array of shape (builds, 1, 1) where it varies. Of
        one that nobody entered what most units have."""
        varied = self.varied.get(path) if self.varied else None
        if varied is not None:
            return varied if self.count > 1 else varied.item()
        found: float | np.ndarray = taken_at(self.mechanism, path)
        return found

    def zero(self, *path: str | int) -> bool:
        """Whether the value at a path is nought in all builds."""
        value = self.value(*path)
        return not (value.any() if isinstance(value, np.ndarray) else value)

    @property
    def weights(self) -> float | np.ndarray:
        """How many weights there are, as :meth:`value`; as most units have where that is blank."""
        path = "weights", "count"
        return self.value(*path) if path in self.varied else self.mechanism.weights.count_taken

    def of_a_weight(self, index: int, key: str) -> Any:
        """A value of one weight: its own where it has one, else that of all."""
        each = self.mechanism.weights.each
        if index < len(each) and getattr(each[index], key) is not None:
            return self.value("weights", "each", index, key)
        return self.value("weights", key)

    def of_weight(self, index: int | None, count: int) -> Builds:
        """The builds as one weight sees them: its own figures in place of those of all.

        Parameters
        ----------
        index : int or None
            Which weight; None for those that have nothing of their own.
        count : int
            How many weights are meant.
        """
        own = of_one_weight(self.mechanism, index, count)
        if own is self.mechanism:
            return self
        piece = Builds(own)
        piece.count = self.count
        piece.varied = dict(self.varied)
        if index is None:
            return piece
        row = self.mechanism.weights.each[index]
        for key, owner in _OWN.items():
            if getattr(row, key) is not None:
                piece.varied.pop((owner, key), None)
                varied = self.varied.get(("weights", "each", index, key))
                if varied is not None:
                    piece.varied[owner, key] = varied
        return piece

    def part(self, start: int, stop: int) -> Builds:
        """The builds from ``start`` up to, not including, ``stop``."""
        piece = Builds(self.mechanism)
        piece.varied = {
            path: values if len(values) == 1 else values[start:stop]
            for path, values in self.varied.items()
        }
        piece.count = min(stop, self.count) - start
        return piece
