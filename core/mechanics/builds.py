"""A mechanism's numbers as arrays: one build, or many that differ in some values."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import check_number_path, get

Array = np.ndarray | float


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
        for path in varied or ():
            check_number_path(mechanism, path)
        self.varied = {
            path: np.asarray(values, dtype=float).reshape(-1, 1, 1)
            for path, values in (varied or {}).items()
        }
        self.count = max((len(values) for values in self.varied.values()), default=1)
        for path, values in self.varied.items():
            if len(values) not in (1, self.count):
                raise BobweightError("unequal-columns", path, first=self.count, other=len(values))

    def value(self, *path: str | int) -> float | np.ndarray:
        """The value at a path: a number, or an array of shape (builds, 1, 1) where it varies."""
        if path in self.varied:
            return self.varied[path]
        return get(self.mechanism, path)

    def part(self, start: int, stop: int) -> Builds:
        """The builds from ``start`` up to, not including, ``stop``."""
        piece = Builds(self.mechanism)
        piece.varied = {
            path: values if len(values) == 1 else values[start:stop]
            for path, values in self.varied.items()
        }
        piece.count = min(stop, self.count) - start
        return piece
