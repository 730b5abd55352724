"""Words for the window: translation of literal texts, and of the labels that the core describes.

Translators find two contexts: one a module for literal texts, and ``parameters`` for the labels,
tips and options of stored values, as their records describe them.
"""

from __future__ import annotations

import math
import re
import sys
from functools import lru_cache
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.problems import Path
from bobweight.core.record import Parameter, Record, parameters
from bobweight.core.units import ANGLE, JOINER, NUMBER, Quantity, shown


def translate(context: str, text: str) -> str:
    """A literal text in the language of the window; as it is where no window is, so that what
    answers in plain text loads nothing of Qt."""
    qt = sys.modules.get("PySide6.QtCore")
    if qt is None:
        return text
    translated: str = qt.QCoreApplication.translate(context, text)
    return translated


def QT_TRANSLATE_NOOP(_context: str, text: str) -> str:
    """The text as it is; translators find it by this name."""
    return text


def version() -> str:
    """The version installed."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("bobweight")
    except PackageNotFoundError:
        return "(not installed)"


def counted(count: int, one: str, many: str, **facts: object) -> str:
    """Of two texts, both translated, the one for a single thing or the one for several, with
    ``{count}`` and the other facts put in."""
    return (one if count == 1 else many).format(count=count, **facts)


def lower_first(text: str) -> str:
    """A name as it stands within a sentence; what is a name of its own, as "GPa", stays."""
    return text[:1].lower() + text[1:] if text[1:2].islower() or len(text) < 2 else text


PARAMETERS = "parameters"


_DIRECTION = {
    0x061C: "ALM", 0x200E: "LRM", 0x200F: "RLM", 0x202A: "LRE", 0x202B: "RLE", 0x202C: "PDF",
    0x202D: "LRO", 0x202E: "RLO", 0x2066: "LRI", 0x2067: "RLI", 0x2068: "FSI", 0x2069: "PDI",
}  # fmt: skip
_SHOWN = (
    {code: f"⟨{code:02X}⟩" for code in (*range(0x20), *range(0x7F, 0xA0)) if code not in (9, 10)}
    | {code: f"⟨{name}⟩" for code, name in _DIRECTION.items()}
    | {0x2028: "⟨LS⟩", 0x2029: "⟨PS⟩", 0xFEFF: "⟨BOM⟩"}
)
LONGEST_SHOWN = 2000
"""The most characters of a stored text that a label shows; more is kept, and cut where it is
shown."""


def visible(text: str, most: int = LONGEST_SHOWN) -> str:
    """A stranger's text for showing: signs that control a device or turn the direction of writing
    are shown as such, and of a text without end its beginning."""
    return cut(text, most).translate(_SHOWN)


UNTITLED_UNIT = QT_TRANSLATE_NOOP("sheet", "Untitled unit")


def unit_title(docket: Docket | None) -> str:
    """What a unit is called: its title, else the number on its body, else that it has neither."""
    record = (docket or Docket()).particulars
    called = record.title.strip() or record.unit_number.strip()
    return called or translate("sheet", UNTITLED_UNIT)


def weighing() -> str:
    """What stands in place of a judgement that is being made."""
    return translate("answer", "The readings are being weighed…")


def cut(text: str, most: int = 80) -> str:
    """The beginning of a text that is longer than so many characters."""
    return text if len(text) <= most else f"{text[: most - 1]}…"


def unbroken(text: str) -> str:
    """The text with no line broken inside a unit such as N/mm."""
    return text.replace("/", f"/{JOINER}")


def without_joiners(text: str) -> str:
    """What was given to :func:`unbroken`."""
    return text.replace(JOINER, "")


def label(parameter: Parameter) -> str:
    """What a value is called."""
    return translate(PARAMETERS, parameter.label)


def help_text(parameter: Parameter) -> str:
    """The tip of a value, without its range."""
    return translate(PARAMETERS, parameter.help) if parameter.help else ""


def option_text(parameter: Parameter, key: str) -> str:
    """The words shown for an option of a choice."""
    return translate(PARAMETERS, parameter.options.get(key, key))


def with_unit(number: str, symbol: str) -> str:
    """A number and its unit as written: no space before a degree or minute sign."""
    return number + symbol if symbol in ("°", "′", "") else f"{number}\u00a0{symbol}"


_LEAST_WRITTEN, _MOST_WRITTEN = 1e-9, 1e15


def amount(value: float, quantity: Quantity = NUMBER, symbol: str | None = None) -> str:
    """A stored value in a unit, rounded for reading (five significant digits), with the unit."""
    symbol = symbol or quantity.stored.symbol
    return with_unit(significant(value / quantity.unit(symbol).factor), symbol)


def significant(number: float, digits: int = 5) -> str:
    """A number with so many significant digits, minus as a sign; in powers of ten only where no
    eye could count the noughts, as it then stands in a file too."""
    if number == 0:
        return "0"
    text = f"{number:.{digits}g}"
    if not _LEAST_WRITTEN <= abs(number) < _MOST_WRITTEN:
        text = text.replace("e+", "e")
    elif "e" in text:
        text = f"{number:.0f}" if abs(number) >= 1 else f"{number:.10f}".rstrip("0").rstrip(".")
    return text.replace("-", "−")


_TYPED_DIGITS = 5  # a number of no more digits is taken as typed and shown whole
_ROUNDED_DIGITS = 3  # of any other, such as one converted from another unit
_MOST_DECIMALS = 9  # below it lies what rounding of floats leaves


def written(value: float | None, quantity: Quantity, symbol: str, *, as_typed: bool = True) -> str:
    """A stored value as shown wherever it is read: in a unit, without the unit; empty if not known.

    What was typed in the unit shown stays as typed; a value converted into it is rounded, and so
    is one that nobody typed (``as_typed`` false). Minus is a sign of its own, as everywhere.
    """
    return "" if value is None else _written(value, quantity, symbol, as_typed).replace("-", "−")


def _written(value: float, quantity: Quantity, symbol: str, as_typed: bool) -> str:
    typed = shown(value, quantity, symbol, _TYPED_DIGITS)
    whole = "e" not in typed and float(typed) == float(shown(value, quantity, symbol))
    if whole and as_typed:
        return typed
    return _rounded(value / quantity.unit(symbol).factor, quantity)


def _rounded(number: float, quantity: Quantity) -> str:
    """A number with the digits that a reader needs, and never in powers of ten."""
    before_point = math.floor(math.log10(abs(number))) + 1 if number else 1
    decimals = min(max(quantity.decimals, _ROUNDED_DIGITS - before_point), _MOST_DECIMALS)
    text = f"{number:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def usual_range(parameter: Parameter, symbol: str | None = None) -> str:
    """The usual range of a number as a sentence, or an empty text."""
    if parameter.usual is None:
        return ""
    low, high = parameter.usual
    symbol = symbol or parameter.quantity.stored.symbol
    factor = parameter.quantity.unit(symbol).factor
    return translate("words", "Usual: {low} to {high}.").format(
        low=significant(low / factor, 3), high=with_unit(significant(high / factor, 3), symbol)
    )


def parameter_of(path: Path, record: type[Record] = Docket) -> Parameter | None:
    """The description of the value at a path, from the record types alone; None if nowhere."""
    given: object = record  # a class has a hash, whatever its instances have
    return _parameter_of(path, given)


@lru_cache(maxsize=2048)
def _parameter_of(path: Path, record: Any) -> Parameter | None:
    found: Parameter | None = None
    within: type[Record] | None = record
    for step in path:
        if isinstance(step, int):
            continue
        found = parameters(within).get(step) if within is not None else None
        if found is None:
            return None
        within = found.record
    return found


def unit_text(parameter: Parameter, symbol: str | None = None) -> str:
    """The unit of a value as written beside it; degrees that are always at one shaft say at
    which."""
    symbol = parameter.quantity.stored.symbol if symbol is None else symbol
    if parameter.quantity is ANGLE and parameter.frame:
        words = {
            "distributor": translate("words", "dist. {unit}"),
            "crank": translate("words", "crank {unit}"),
        }[parameter.frame]
        return words.format(unit=symbol)
    return symbol


def kept_together(text: str) -> str:
    """A label that breaks well: a short last word stays with the word before it, and a unit such
    as rev/min stays whole."""
    return unbroken(re.sub(r" (\S{1,3})$", "\u00a0\\1", text))
