"""What is assumed of a value left blank, in words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING

from bobweight.app.words import significant, translate, with_unit
from bobweight.core.docket.mechanism import LINKAGE_TABLES
from bobweight.core.problems import Path
from bobweight.core.units import Quantity

if TYPE_CHECKING:
    from bobweight.app.store.display import Display
    from bobweight.core.judgement.blanks import Blank

_MOST_DECIMALS = 9


def assumed_figures(blank: Blank, quantity: Quantity, symbol: str) -> tuple[str, str]:
    """Value (of two digits or more) and uncertainty in a unit, as a reader needs them; the latter
    empty where there is none, both where there is no value."""
    if blank.value is None:
        return "", ""
    factor = quantity.unit(symbol).factor
    value, u = blank.value / factor, abs(blank.u or 0.0) / factor
    if not u:
        return significant(float(f"{value:.3g}")), ""
    place = math.floor(math.log10(abs(value))) - 1 if value else 0
    digits = min(max(-min(math.floor(math.log10(u)), place), 0), _MOST_DECIMALS)
    u_digits = 2 if u >= 10.0 or 1.0 <= u < 2.0 else 1
    return f"{value:.{digits}f}".replace("-", "−"), significant(float(f"{u:.{u_digits}g}"))


def table_assumed_text(found: Mapping[Path, Blank]) -> str:
    """That a linkage is assumed while its table has something to be mended; empty where none is."""
    if not any(("mechanism", "linkage", key) in found for key in LINKAGE_TABLES.values()):
        return ""
    return translate("editors", "Until the linkage’s table is whole, a usual linkage is assumed.")


def assumed_text(blank: Blank, quantity: Quantity, display: Display) -> str:
    """The same in words: "about 24 ± 6 g"."""
    symbol = display.unit(quantity)
    value, u = assumed_figures(blank, quantity, symbol)
    said = f"{value}\u00a0±\u00a0{u}" if u else value
    return translate("editors", "about {number}").format(number=with_unit(said, symbol))
