"""Values with their uncertainties in sentences, and how far a part is off in figures that agree."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from bobweight.app.words import parameter_of, significant, translate, with_unit
from bobweight.core.problems import Path, required
from bobweight.core.record import get
from bobweight.core.units import ANGLE, NUMBER, Quantity

if TYPE_CHECKING:  # the window shows these words, but has no need of the diagnosis to begin
    from bobweight.app.store.display import Display
    from bobweight.core.docket.docket import Docket
    from bobweight.core.judgement.diagnosis import FaultSize

_AS_STATED = 0.25  # of the uncertainty, within which a sound part is as stated
_TYPED_DIGITS = 5  # of a figure with more digits it is known that nobody typed it


def quantity_of(path: Path, unit: str = "") -> Quantity:
    """Of the value at a path; of a fault that no value of the docket has, by its own unit."""
    parameter = parameter_of(path) if path else None
    if parameter is None:
        return ANGLE if unit == "deg" else NUMBER
    return parameter.quantity


def in_unit(value: float, quantity: Quantity, display: Display | None = None) -> str:
    """A value in the unit shown, or as stored."""
    symbol, factor = _unit(quantity, display)
    return with_unit(significant(value / factor, 4), symbol)


def pm(value: float, u: float | None, quantity: Quantity, display: Display | None) -> str:
    """A value with its uncertainty in the unit shown, or as stored."""
    symbol, factor = _unit(quantity, display)
    return _pm_plain(value / factor, None if u is None else u / factor, symbol)


def _pm_plain(value: float, u: float | None, symbol: str) -> str:
    """Value and uncertainty, both to the uncertainty's second digit (first, from 3 on)."""
    if u is None or not math.isfinite(u) or u <= 0:
        return with_unit(significant(value, 4), symbol)
    if symbol == "rev/min":
        value, u = (10.0 * round(v / 10.0) for v in (value, max(u, 10.0)))
    digits = _digits(u, symbol)
    text = f"{value:.{digits}f}\u00a0±\u00a0{u:.{digits}f}".replace("-", "−")
    return with_unit(text, symbol)


def _digits(u: float, symbol: str = "") -> int:
    """Decimals to the second digit of an uncertainty, to the first from 3 on; of degrees one."""
    power = math.floor(math.log10(u))
    wanted = max((1 if round(u / 10.0**power, 9) < 3 else 0) - power, 0)
    return min(wanted, 1 if symbol == "°" else 6)


def is_entered(size: FaultSize, docket: Docket) -> bool:
    """Whether somebody said what a sound part has, where something is assumed of it else."""
    parameter = parameter_of(size.path) if size.path else None
    if parameter is None or parameter.assumed is None:
        return True
    return get(docket, size.path) is not None


def is_as_stated(size: FaultSize) -> bool:
    """Whether a sound part has what is stated of it, by all that is known."""
    return _sound_part(size, 1.0, _TYPED_DIGITS) == size.nominal


def size_facts(
    size: FaultSize, source: str, display: Display | None, entered: bool = True
) -> dict[str, str]:
    """What the words of a fault name of its size; where they name how far the part is off as well
    as what it and a sound one have, the three agree as they are written."""
    quantity = quantity_of(size.path, size.unit)
    facts = {"percent": _percent(size.amount, size.u), "amount": "", "fitted": "", "nominal": ""}
    if size.unit not in ("", "share"):
        facts["amount"] = _amount(size, quantity, display)
    if size.fitted is not None:
        facts["fitted"] = pm(size.fitted, size.u_fitted, quantity, display)
    if size.nominal is None:
        return facts
    off = "{percent}" in source or "{amount}" in source
    symbol, factor = _unit(quantity, display)
    u = size.u if off else size.u_fitted
    decimals = _decimals(size, None if u is None else u / factor, factor, symbol)
    facts["nominal"] = _ought(size, quantity, display, decimals, entered)
    if off and "{fitted}" in source:
        facts |= _agreed(size, factor, symbol, decimals)
    return facts


def _agreed(size: FaultSize, factor: float, symbol: str, decimals: int) -> dict[str, str]:
    """Departure and fitted figure of a part, so rounded that the one told and a sound part's figure
    give the other. One ± is told, the departure's: the fitted figure's own would hold as well how
    sure a sound part's is."""
    ought = _sound_part(size, factor, decimals)
    if size.fitted is None or not ought or not size.u_fitted or not size.u:
        return {}
    known, _ = _ought_shown(size, factor, decimals)
    if size.unit == "share":
        shown = round(size.fitted / factor, decimals)
        share = shown / known - 1.0
        if abs(abs(share) - abs(size.amount)) > size.u:
            return {}  # the share is of something else
        found = {"percent": _percent(share, size.u)}
    else:
        if abs(abs(size.fitted - ought) - abs(size.amount)) > size.u:
            return {}
        off = round(abs(size.amount) / factor, decimals)
        shown, found = known + math.copysign(off, size.fitted - ought), {}
        decimals = max(decimals, len(f"{known:.6f}".rstrip("0").partition(".")[2]))
    text = f"{shown:.{decimals}f}".replace("-", "−")
    return {"fitted": with_unit(text, symbol), **found}


def _unit(quantity: Quantity, display: Display | None) -> tuple[str, float]:
    """The unit shown and its size in the stored one."""
    symbol = display.unit(quantity) if display else quantity.stored.symbol
    return symbol, quantity.unit(symbol).factor


def _decimals(size: FaultSize, u: float | None, factor: float, symbol: str) -> int:
    """Decimals of a part's figures in the unit shown: of a share as many as a hundredth is told by,
    else as many as the uncertainty has; of degrees one."""
    if size.unit != "share":
        return _digits(u, symbol) if u else 1 if symbol == "°" else 2
    value = abs(required(size.fitted) / factor)
    return 1 if symbol == "°" else max(2 - math.floor(math.log10(value)), 0) if value else 0


def _sound_part(size: FaultSize, factor: float, decimals: int) -> float | None:
    """What a sound part has: as stated where that is no other figure by all that is known, nor by
    more than the last digit told."""
    u, sound = size.u_fitted or 0.0, size.sound
    if size.nominal is None or not u or sound is None:
        return size.nominal
    same = max(_AS_STATED * u, 1.001 * factor * 10.0**-decimals)
    return size.nominal if abs(sound - size.nominal) <= same else sound


def _ought_shown(size: FaultSize, factor: float, decimals: int) -> tuple[float, str]:
    """What a sound part has, as it is written: what was typed as it is."""
    sound = required(_sound_part(size, factor, decimals))
    if sound == size.nominal and float(f"{sound:.{_TYPED_DIGITS}g}") == sound:
        return float(f"{sound / factor:.4g}"), significant(sound / factor, 4)
    shown = f"{sound / factor:.{decimals}f}"
    return float(shown), shown.replace("-", "−")


def _ought(
    size: FaultSize, quantity: Quantity, display: Display | None, decimals: int, entered: bool
) -> str:
    """What a sound part has, which a share or an amount is told of, and what is stated of it where
    that is another figure."""
    symbol, factor = _unit(quantity, display)
    value, shown = _ought_shown(size, factor, decimals)
    of_sound = with_unit(shown, symbol)
    if _sound_part(size, factor, decimals) == size.nominal:
        return of_sound
    if value == 0:  # worked out, and nobody measured a nought
        of_sound = translate("explanations", "almost none, as a sound unit has")
    stated = in_unit(required(size.nominal), quantity, display)
    said = translate("explanations", "{sound} ({stated} stated)")
    if not entered:
        said = translate("explanations", "{sound} (none entered)")
    return said.format(sound=of_sound, stated=stated)


def _amount(size: FaultSize, quantity: Quantity, display: Display | None) -> str:
    if not size.path:  # the pipe left on: a speed
        return _pm_plain(abs(size.amount), size.u, "rev/min")
    return pm(abs(size.amount), size.u, quantity, display)


def _percent(amount: float, u: float) -> str:
    return _pm_plain(100 * abs(amount), 100 * u, "%")
