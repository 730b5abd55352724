"""Quantities, their stored unit, and the units a restorer may type or read them in.

Every number is stored in one unit for good (the *stored unit*); what the user types is converted
on the way in and what is shown is converted on the way out. Conversion factors: NIST SP 811
(2008), Appendix B.8, or exact by definition; pinned by tests.

A library of units would parse more, but it takes longer to import than the rest of the core and
knows neither thou nor the trade's decimal comma; fifteen quantities are a table.
"""

from __future__ import annotations

import math
import re
from functools import cached_property, lru_cache

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

JOINER = "\u2060"
"""Word joiner: no line is broken there. Shown behind the stroke of a unit such as N/mm."""


_WORDS = {
    r"\bin(?:ch(?:es)?|s)\b": "in", r"\b(?:lbs|pounds?)\b": "lb", r"\bounces?\b": "oz",
    r"\bgram(?:me|m)?s?\b": "g", r"\bmillimet(?:re|er)s?\b": "mm", r"\b(?:feet|foot)\b": "ft",
    r"\bvolts?\b": "V", r"\bamp(?:ere)?s?\b": "A", r"\bohms?\b": "Ω", r"\bpercent\b": "%",
    r"\b(in|mm|cm)\s+(?:of\s+)?mercury\b": r"\1Hg",
}  # fmt: skip
_SIGNS: dict[int, int | str | None] = {
    **{code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)},  # full width
    **dict.fromkeys(map(ord, "\u00a0\u2007\u2009\u202f\u3000"), " "),
    **dict.fromkeys(map(ord, f"{JOINER}\u200b\u200e\u200f\ufeff")),  # not to be seen
    **dict.fromkeys(map(ord, "−–‐‑"), "-"),
    **dict.fromkeys(map(ord, "⁄∕"), "/"),
    **dict.fromkeys(map(ord, "º˚"), "°"),
    **dict.fromkeys(map(ord, "’‘"), "'"),
    **dict.fromkeys(map(ord, "”“"), '"'),
    **dict.fromkeys(map(ord, "⋅•"), "·"),
    ord("μ"): "µ",
}
"""What looks alike, as one sign."""


def plain_unit(text: str) -> str:
    """The words of units in a text as signs: ``lb per inch`` is ``lb/in``."""
    text = re.sub(r"\s+per\s+", "/", text)
    for words, sign in _WORDS.items():
        text = re.sub(words, sign, text, flags=re.I)
    return text


@lru_cache(maxsize=512)
def _squeezed(name: str) -> str:
    """The name of a unit without blanks, without what joins its letters, and without the dot
    behind it."""
    name = re.sub("''|′′|″", '"', plain_unit(name.translate(_SIGNS)))
    return re.sub(r"(?<=[^\W\d])[·.*-](?=[^\W\d])", "", name.replace(" ", "")).rstrip(".")


def _folded(name: str) -> str:
    """A squeezed name in small letters, but for what parts milli from mega."""
    if re.fullmatch(r"[mM](?:Ω|ohms?|V|A|H|F|s|Pa|psi)", name, re.I):
        return name[0] + name[1:].lower()
    return name.lower()


@frozen
class Unit:
    """One unit: stored value = factor × value in this unit.

    ``symbol`` is what is shown; ``also`` are other spellings accepted on typing.
    """

    symbol: str
    factor: float
    also: tuple[str, ...] = ()


@frozen
class Quantity:
    """A kind of number: the stored unit first, then the others; ``decimals`` as usually shown;
    ``step`` is what a key stroke adds in the stored unit, None a share of the value."""

    key: str
    units: tuple[Unit, ...]
    decimals: int = 2
    step: float | None = None

    @property
    def stored(self) -> Unit:
        """The unit of what is stored."""
        return self.units[0]

    @cached_property
    def _named(self) -> tuple[dict[str, Unit], dict[str, Unit]]:
        """The units by their names as written, and by their names in small letters."""
        exact: dict[str, Unit] = {}
        folded: dict[str, Unit] = {}
        for unit in self.units:
            for name in (unit.symbol, *unit.also):
                name = _squeezed(name)
                exact.setdefault(name, unit)
                folded.setdefault(_folded(name), unit)
        return exact, folded

    def unit(self, symbol: str) -> Unit:
        """The unit with this symbol or other spelling (case is ignored unless it matters).

        Raises
        ------
        BobweightError
            ``unknown-unit`` if the quantity has none of that name; ``no-unit-here`` if it has none.
        """
        wanted = _squeezed(symbol)
        exact, folded = self._named
        unit = exact.get(wanted) or folded.get(_folded(wanted))
        if unit is not None:
            return unit
        known = ", ".join(u.symbol for u in self.units if u.symbol)
        code = "unknown-unit" if known else "no-unit-here"
        raise BobweightError(code, (), value=symbol.strip(), known=known)


_INCH_MM = 25.4
_LBF_N = 4.4482216152605
_GRAVITY = 9.80665
_OZ_G = 28.349523125
_INHG_KPA = 3.386389  # conventional, NIST SP 811

NUMBER = Quantity("number", (Unit("", 1.0),), 3, 0.01)
PERCENT = Quantity("percent", (Unit("%", 1.0),), 1, 1.0)
LENGTH = Quantity(
    "length",
    (
        Unit("mm", 1.0),
        Unit("in", _INCH_MM, ('"', "zoll", "pouce", "pouces")),
        Unit("thou", _INCH_MM / 1000, ("mil",)),
        Unit("cm", 10.0),
        Unit("µm", 0.001, ("um", "micron")),
    ),
    step=0.1,
)
MASS = Quantity(
    "mass",
    (Unit("g", 1.0), Unit("kg", 1000.0), Unit("oz", _OZ_G), Unit("lb", 16 * _OZ_G)),
    step=0.5,
)
FORCE = Quantity(
    "force",
    (
        Unit("N", 1.0),
        Unit("gf", _GRAVITY / 1000, ("g", "pond")),
        Unit("kgf", _GRAVITY, ("kg", "kp")),
        Unit("lbf", _LBF_N, ("lb",)),
        Unit("ozf", _LBF_N / 16, ("oz",)),
    ),
    step=0.1,
)
SPRING_RATE = Quantity(
    "spring_rate",
    (
        Unit("N/mm", 1.0),
        Unit("N/m", 0.001),
        Unit("lbf/in", _LBF_N / _INCH_MM, ("lb/in", 'lb/"')),
        Unit("ozf/in", _LBF_N / 16 / _INCH_MM, ("oz/in",)),
        Unit("kgf/mm", _GRAVITY, ("kg/mm",)),
        Unit("gf/mm", _GRAVITY / 1000, ("g/mm",)),
    ),
    3,
)
TORQUE = Quantity(
    "torque",
    (
        Unit("N·mm", 1.0),
        Unit("N·m", 1000.0),
        Unit("ozf·in", _LBF_N / 16 * _INCH_MM, ("oz in", "in oz")),
        Unit("lbf·in", _LBF_N * _INCH_MM, ("lb in", "in lb")),
    ),
    step=1.0,
)
TORSION_RATE = Quantity(
    "torsion_rate",
    (
        Unit("N·mm/°", 1.0, ("N·mm/deg",)),
        Unit("N·m/rad", 1000.0 * math.radians(1.0)),
    ),
)
ANGLE = Quantity(
    "angle",
    (
        Unit("°", 1.0, ("deg", "degs", "degree", "degrees", "grad", "degré", "degrés")),
        Unit("′", 1 / 60, ("'", "arcmin")),
        Unit("rad", math.degrees(1.0)),
    ),
    1,
    step=0.5,
)
SPEED = Quantity(
    "speed",
    (
        Unit(
            "rev/min",
            1.0,
            ("rpm", "r/min", "1/min", "min-1", "min⁻¹", "revs/min", "r.p.m.", "tr/min", "U/min"),
        ),
        Unit("rev/s", 60.0, ("rps", "Hz", "r/s", "1/s", "rev/sec", "revs/s")),
        Unit("rad/s", 30.0 / math.pi, ("rad/sec",)),
        Unit(
            "krpm",
            1000.0,
            (
                "rpm×1000",
                "rpm x 1000",
                "rpm*1000",
                "1000 rpm",
                "1000 rev/min",
                "x1000 rpm",
                "× 1000 rpm",
                "rev/min × 1000",
            ),
        ),
    ),
    0,
    step=50.0,
)
DEPRESSION = Quantity(
    "depression",
    (
        Unit("kPa", 1.0),
        Unit("inHg", _INHG_KPA, ('"Hg',)),
        Unit("mmHg", 0.1333224, ("torr",)),
        Unit("cmHg", 1.333224),
        Unit("mbar", 0.1, ("hPa", "mb")),
        Unit("bar", 100.0),
        Unit("psi", 6.894757, ("lbf/in2",)),
        Unit("inH2O", 0.2490889),
    ),
    1,
    step=1.0,
)
AREA = Quantity(
    "area",
    (
        Unit("mm²", 1.0, ("mm2",)),
        Unit("cm²", 100.0, ("cm2",)),
        Unit("in²", _INCH_MM**2, ("in2", "sq in")),
    ),
    0,
    step=10.0,
)
STRESS = Quantity(
    "stress",
    (
        Unit("MPa", 1.0, ("N/mm2", "N/mm²")),
        Unit("GPa", 1000.0),
        Unit("kpsi", 6.894757, ("ksi",)),
        Unit("Mpsi", 6894.757),
    ),
    0,
)
TIME_MS = Quantity(
    "time_ms", (Unit("ms", 1.0), Unit("µs", 0.001, ("us",)), Unit("s", 1e3)), 3, step=0.01
)
TIME_S = Quantity("time_s", (Unit("s", 1.0), Unit("min", 60.0)), 1)
RESISTANCE = Quantity(
    "resistance",
    (Unit("Ω", 1.0), Unit("kΩ", 1e3, ("kohm",)), Unit("MΩ", 1e6, ("Mohm",))),
)
INDUCTANCE = Quantity("inductance", (Unit("mH", 1.0), Unit("H", 1e3)), 2)
CAPACITANCE = Quantity("capacitance", (Unit("µF", 1.0, ("uF", "mfd")), Unit("nF", 1e-3)), 3)
VOLTAGE = Quantity("voltage", (Unit("V", 1.0), Unit("mV", 1e-3)), 2)
CURRENT = Quantity("current", (Unit("A", 1.0), Unit("mA", 1e-3)), 2)
ALTITUDE = Quantity(
    "altitude", (Unit("m", 1.0), Unit("ft", 0.3048, ("'", "′")), Unit("km", 1000.0)), 0
)
FOCAL_LENGTH = Quantity("focal_length", (Unit("mm", 1.0),), 0)  # no camera says it in inches
INERTIA_SLOPE = Quantity("inertia_slope", (Unit("g·mm²/rad", 1.0, ("g mm2/rad",)),), 0)

QUANTITIES: dict[str, Quantity] = {
    q.key: q
    for q in (
        NUMBER, PERCENT, LENGTH, MASS, FORCE, SPRING_RATE, TORQUE, TORSION_RATE, ANGLE, SPEED,
        DEPRESSION, AREA, STRESS, TIME_MS, TIME_S, RESISTANCE, INDUCTANCE, CAPACITANCE, VOLTAGE,
        CURRENT, ALTITUDE, FOCAL_LENGTH, INERTIA_SLOPE,
    )
}  # fmt: skip

_VULGAR = {
    "¼": "1⁄4", "½": "1⁄2", "¾": "3⁄4", "⅛": "1⁄8", "⅜": "3⁄8", "⅝": "5⁄8", "⅞": "7⁄8",
    "⅓": "1⁄3", "⅔": "2⁄3",
}  # fmt: skip
_TYPED = re.compile(
    r"""(?P<sign>[+-]?)\s*(?:
        (?:(?P<whole>\d+)(?:\s+|\s*[+-]\s*))?
        (?P<over>\d+)\s*(?P<bar>[/⁄])\s*(?P<under>\d+)(?![\d.,])
      | (?P<digits>(?:
            \d{1,3}(?:(?:[ ]\d{3})+|(?:'\d{3})+|(?:,\d{3}){2,}(?!,)|(?:\.\d{3}){2,}(?!\.))(?!['\d])
          | \d{1,3}(?:,\d{3})+(?=\.) | \d{1,3}(?:\.\d{3})+(?=,)
          | \d+ | (?=[.,]\d))
        (?:[.,]\d*)? (?:[eE][+-]?\d+)?)
    )(?!\s*(?!1/)[\d.,])\s*(?P<name>.*)""",
    re.VERBOSE,
)
_PLUS_MINUS = re.compile(r"±|∓|\+\s*/?\s*-|-\s*/\s*\+")


def convert(value: float, quantity: Quantity, symbol: str) -> float:
    """A stored value in another unit of its quantity (also for arrays)."""
    return value / quantity.unit(symbol).factor


def store(value: float, quantity: Quantity, symbol: str) -> float:
    """A value given in a unit, in the stored unit of its quantity (also for arrays)."""
    return value * quantity.unit(symbol).factor


_NO_THOUSANDS = (
    LENGTH, ANGLE, SPRING_RATE, TORSION_RATE, PERCENT, TIME_MS, CURRENT, CAPACITANCE, INDUCTANCE,
)  # fmt: skip
"""Of what nobody has thousands, but in a unit much smaller than the stored one."""


def parse(text: str, quantity: Quantity = NUMBER, symbol: str | None = None) -> float:
    """The stored value of what was typed: a number, with or without a unit.

    Accepts a decimal point or comma, spaces or apostrophes between thousands, and fractions as a
    rule has them: ``5/8″``, ``6 1/2 in``, ``6½ in``.
    Without a unit the number is in ``symbol`` (the unit shown at the
    field), else in the stored unit.

    Raises
    ------
    BobweightError
        ``not-a-number``, ``unknown-unit``, ``no-unit-here``; ``uncertainty-not-kept`` for
        ``12 ± 0.2``; ``comma-ambiguous`` for ``1,250``
        of what there may be thousands of: both 1.25 and 1250 could be meant; ``fraction-unclear``
        for ``61/2 in``, and for ``5/8`` of what is not measured in eighths.
    """
    typed = _typed(text)
    unit = _unit_typed(typed, quantity, symbol)
    value = _fraction(typed, quantity, unit) if typed["over"] else _decimal(typed, quantity, unit)
    result = (-value if typed["sign"] == "-" else value) * unit.factor
    if not math.isfinite(result):
        raise BobweightError("not-a-number", (), value=text.strip())
    return result


def has_uncertainty(text: str) -> bool:
    """True for what is typed as ``12 ± 0.2``."""
    return bool(_PLUS_MINUS.search(text.translate(_SIGNS).strip().lstrip("±")))


def bare_uncertainty(text: str) -> str:
    """What is typed as an uncertainty, ``± 0.2``, without the sign before it."""
    return re.sub(rf"^\s*(?:{_PLUS_MINUS.pattern})", "", text.translate(_SIGNS)).strip()


def parse_with_uncertainty(
    text: str, quantity: Quantity = NUMBER, symbol: str | None = None
) -> tuple[float, float | None]:
    """The stored value of what was typed and, of ``12 ± 0.2 mm``, what follows the sign.

    ``+/-`` and ``+-`` stand for the sign too. A unit on one side holds for both; a share such as
    ``± 5 %`` is of the value.

    Raises
    ------
    BobweightError
        As :func:`parse`; ``whose-unit`` where a unit at the end, held to be that of both, leaves
        the value hardly more than what it is sure to, ``0.25 ± 5 thou``.
    """
    value_text, *rest = _PLUS_MINUS.split(text.translate(_SIGNS))
    if not rest or not value_text.strip():
        return parse(text, quantity, symbol), None
    if len(rest) > 1:
        raise BobweightError("not-a-number", (), value=text.strip())
    u_text = rest[0].strip()
    if u_text.endswith("%") and quantity is not PERCENT:
        value = parse(value_text, quantity, symbol)
        return value, abs(value) * parse(u_text[:-1], NUMBER) / 100
    value_unit, u_unit = _typed(value_text)["name"], _typed(u_text)["name"]
    value = parse(value_text, quantity, value_unit or u_unit or symbol)
    u = parse(u_text, quantity, u_unit or value_unit or symbol)
    if value and u_unit and not value_unit:
        smaller = quantity.unit(u_unit).factor / _unit_shown(quantity, symbol).factor
        if smaller != 1 and u > abs(value) * (0.1 if smaller < 1 else 1):
            raise BobweightError("whose-unit", (), value=text.strip(), unit=u_unit)
    return value, u


def _typed(text: str) -> re.Match[str]:
    """What was typed, parted into sign, number and the name of a unit."""
    plain = text.translate(_SIGNS)
    for sign, fraction in _VULGAR.items():
        plain = plain.replace(sign, f" {fraction} ")
    if has_uncertainty(plain):
        raise BobweightError("uncertainty-not-kept", (), value=text.strip())
    match = _TYPED.fullmatch(plain.strip())
    if match is None or float(match["under"] or 1) == 0:
        raise BobweightError("not-a-number", (), value=text.strip())
    return match


def _unit_shown(quantity: Quantity, symbol: str | None) -> Unit:
    return quantity.unit(symbol) if symbol else quantity.stored


def _unit_typed(typed: re.Match[str], quantity: Quantity, symbol: str | None) -> Unit:
    """The unit that was typed, else the one shown at the field, else the stored one."""
    name = typed["name"]
    if not name:
        return _unit_shown(quantity, symbol)
    try:
        return quantity.unit(name)
    except BobweightError:
        if re.match(r"[^\W\d_]|[°'\"′″%]", name):
            raise
        raise BobweightError("not-a-number", (), value=typed.string) from None  # 12?, 12-13


def _fraction(typed: re.Match[str], quantity: Quantity, unit: Unit) -> float:
    over, under = float(typed["over"]), float(typed["under"])
    if typed["bar"] == "/":
        plain = quantity is NUMBER or (over, under) in ((1, 2), (1, 4), (3, 4))
        plain = plain or (quantity is LENGTH and under in (10, 100))
        if over >= under or not (plain or typed["whole"] or unit != quantity.stored):
            raise BobweightError("fraction-unclear", (), value=typed.string)
    return float(typed["whole"] or 0) + over / under


def _decimal(typed: re.Match[str], quantity: Quantity, unit: Unit) -> float:
    digits = re.sub(r"['\s]", "", typed["digits"])
    thousands = quantity not in _NO_THOUSANDS or unit.factor < 0.1
    if (thousands and re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits)) or (
        quantity in (SPEED, ALTITUDE)
        and unit.factor == 1
        and re.fullmatch(r"[1-9]\d?\.\d{3}", digits)
    ):
        broken = float(digits.replace(",", "."))
        raise BobweightError("comma-ambiguous", (), value=typed.string,
                             whole=re.sub("[.,]", "", digits), broken=f"{broken:g}")  # fmt: skip
    marks = re.findall("[.,]", digits)
    if marks and marks.count(marks[-1]) == 1:  # of several alike none is the decimal mark
        whole, _, behind = digits.rpartition(marks[-1])
        digits = f"{re.sub('[.,]', '', whole)}.{behind}"
    else:
        digits = re.sub("[.,]", "", digits)
    return float(digits)


def shown(value: float, quantity: Quantity, symbol: str | None = None, digits: int = 10) -> str:
    """A stored value as typed text in a unit: shortest form, point as decimal mark, no unit."""
    number = value / (quantity.unit(symbol).factor if symbol else 1.0)
    return f"{number:.{digits}g}"


def pass_rate(share: float) -> str:
    """How many of a hundred pass, never rounded to all or to none."""
    if share > 0.99:
        return ">99 %"
    if share < 0.01:
        return "<1 %"
    return f"{round(100 * share)} %"


def percent(probability: float) -> str:
    """A probability in whole percent, never rounded to certainty, nor to 95 or 80 % of what has not
    got there (5 or 20 % of what is above): these divide the words of a decision."""
    whole = round(100 * probability)
    if whole in (80, 95) and probability < whole / 100:
        return f"{whole - 1} %"
    if whole in (5, 20) and probability > whole / 100:
        return f"{whole + 1} %"
    return pass_rate(probability)
