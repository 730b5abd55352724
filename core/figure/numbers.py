"""How numbers are written: on paper, and in the words of a figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from bobweight.core.figure.description import Content, word

MINUS = "\N{MINUS SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"


def figure(value: float | None, decimals: int = 1, signed: bool = False) -> str:
    """A number with fixed decimals, a half rounded up as a hand does, a true minus sign and never
    "-0.0"; empty for None or NaN."""
    if value is None or not math.isfinite(value):
        return ""
    least = Decimal(1).scaleb(-decimals)
    text = f"{Decimal(f'{abs(value):.12g}').quantize(least, ROUND_HALF_UP):f}"
    if float(text) == 0:
        return text
    return (MINUS if value < 0 else "+" if signed else "") + text


def typed(value: float | None, signed: bool = False) -> str:
    """An angle that somebody typed, as it was typed: with one decimal, or with two where it has
    two, as a half crank degree has at the distributor (6.25). One that conversion gave more is
    rounded to one."""
    if value is None or not math.isfinite(value):
        return ""
    two = abs(100 * value - round(100 * value)) < 1e-6
    return figure(value, 2, signed).removesuffix("0") if two else figure(value, 1, signed)


def short(value: float | None, decimals: int = 3) -> str:
    """A number with no more decimals than it needs, at most ``decimals``."""
    text = figure(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def aligned(texts: Sequence[str]) -> list[str]:
    """Numbers of a column with as many decimals as the one with the most: 44.0 under 30.5."""
    decimals = [len(text.partition(".")[2]) for text in texts]
    most = max(decimals, default=0)
    return [text + "." * (not n) + "0" * (most - n) if text and n < most else text
            for text, n in zip(texts, decimals, strict=True)]  # fmt: skip


def with_u(value: float | None, u: float | None) -> str:
    """A number to one decimal and, where stated, its standard uncertainty: ``11.2 ± 0.4``; one
    below half of that decimal is rounded up to it (JCGM 100:2008, 7.2.6), since nothing is known to
    ± 0.0."""
    text = figure(value)
    if not text or not u:
        return text
    return f"{text} {PLUS_MINUS} {figure(max(u, 0.1))}"


def stated(record: Any, key: str) -> str:
    """A number of a record with its stated uncertainty, as short as can be; empty if unknown. What
    has more digits than anybody types was worked out, and is rounded as it is in the window."""
    value = getattr(record, key)
    if value and float(f"{value:.5g}") != value:
        value = float(f"{value:.3g}")
    text = short(value)
    u = record.u.get(key)
    return f"{text} {PLUS_MINUS} {short(u)}" if text and u else text


def span(low: str, high: str, unit: str = "") -> Content:
    """A range whose ends are written already: from one to the other, or at most, or at least. An
    empty end is no limit; nothing is said where both are."""
    if not low:
        return word("at-most", value=high + unit) if high else ""
    if not high:
        return word("at-least", value=low + unit)
    return word("range", low=low, high=high + unit)
