"""Refusal of numbers that a formula cannot take, with the name and the limit told."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from bobweight.core.problems import BobweightError

Values = float | np.ndarray


def plain(values: Any) -> Values:
    """The same values as a Python float where they are one number, else as an array."""
    array = np.asarray(values)
    return array if array.ndim else array.item()


def finite(name: str, values: ArrayLike) -> np.ndarray:
    """The values as a float array.

    Raises
    ------
    BobweightError
        ``not-a-number`` or ``not-finite``, with the name as path.
    """
    try:
        array = np.asarray(values, dtype=float)
    except (TypeError, ValueError):
        raise BobweightError("not-a-number", (name,), value=str(values)[:40]) from None
    bad = ~np.isfinite(array)
    if bad.any():
        raise BobweightError("not-finite", (name,), value=str(array[bad].flat[0]))
    return array


def within(
    name: str, values: ArrayLike, low: float = -np.inf, high: float = np.inf, unit: str = ""
) -> np.ndarray:
    """The values as a float array, each in the closed range.

    Raises
    ------
    BobweightError
        As :func:`finite`; ``below-limit`` or ``above-limit`` with value, limit and unit.
    """
    array = finite(name, values)
    for code, bad, limit in (
        ("below-limit", array < low, low),
        ("above-limit", array > high, high),
    ):
        if bad.any():
            raise BobweightError(
                code, (name,), value=float(array[bad].flat[0]), limit=limit, unit=unit
            )
    return array


def positive(name: str, values: ArrayLike, unit: str = "") -> np.ndarray:
    """The values as a float array, each above zero.

    Raises
    ------
    BobweightError
        As :func:`finite`; ``not-positive`` with value and unit.
    """
    array = finite(name, values)
    bad = array <= 0
    if bad.any():
        raise BobweightError("not-positive", (name,), value=float(array[bad].flat[0]), unit=unit)
    return array


def whole(name: str, value: int, low: int, high: int) -> int:
    """The count, in the closed range.

    Raises
    ------
    BobweightError
        ``not-whole``, ``below-limit`` or ``above-limit``.
    """
    number = float(within(name, value, low, high))
    if number != int(number):
        raise BobweightError("not-whole", (name,), value=number)
    return int(number)
