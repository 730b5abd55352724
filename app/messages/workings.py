"""How each result is worked out: its formula with its source, and where each figure came from."""

from __future__ import annotations

from collections.abc import Sequence

from bobweight.app.messages import place_text
from bobweight.app.messages.blanks import assumed_text
from bobweight.app.store.display import Display
from bobweight.app.words import QT_TRANSLATE_NOOP, amount, option_text, translate
from bobweight.core.judgement.blanks import Blank
from bobweight.core.judgement.workings import Input
from bobweight.core.record import Record

FORMULAS: dict[str, tuple[str, ...]] = {
    "verdict": (
        QT_TRANSLATE_NOOP(
            "workings",
            "The springs balance the weights: ½ ω² dJ/dθ = torque of the springs ± friction, J the "
            "moment of inertia of weights about the shaft. Each angle θ so gives its speed, "
            "rising and falling.",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "Every figure is taken as uncertain, and the readings say which sets of figures are "
            "likely; each likely set gives a curve. The chance inside is the share of those curves "
            "that lie in the band (JCGM 106:2012, section 7).",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "Readings of other sessions count for what no alteration touched since.",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "Inside from a chance of 95 % on, looks inside from 80 %; below 20 % it looks outside, "
            "below 5 % it is outside (JCGM 106:2012, 8.3, for the outer two).",
        ),
    ),
    "capsule": (
        QT_TRANSLATE_NOOP(
            "workings",
            "By its dimensions: travel x = (A Δp − F₀ ∓ F of friction) / k, from 0 to the stop; "
            "then θ = asin(x / r − sin ε) + ε, with A area, Δp depression, F₀ preload, k rate, r "
            "radius of the pull-rod pin and ε its offset.",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "By its trade figures: nothing up to the start, the full movement from full on, and "
            "between them the same geometry. Depression in kPa.",
        ),
    ),
    "tape": (
        QT_TRANSLATE_NOOP(
            "workings",
            "A degree is π (D + t) / 360 long, with D the diameter of the rim and t the thickness "
            "of the paper, whose middle keeps its length.",
        ),
    ),
    "hang": (
        QT_TRANSLATE_NOOP(
            "workings",
            "L = L₀ up to the initial tension F₀, then L = L₀ + (F − F₀) / k: k is the slope of "
            "the straight line through loads and lengths with their uncertainties, F₀ where that "
            "line meets the free length L₀ (weighted least squares).",
        ),
    ),
    "setting": (
        QT_TRANSLATE_NOOP(
            "workings",
            "Total at the crank = static + turns of the crank a turn of the distributor × "
            "(centrifugal + vacuum advance at the distributor), the advance read off the predicted "
            "curve at engine speed ÷ that ratio.",
        ),
        QT_TRANSLATE_NOOP("workings", "Static for a total is the same sum the other way round."),
    ),
    "search": (
        QT_TRANSLATE_NOOP(
            "workings",
            "Every pair of springs of the tray is put into the mechanism and its curve predicted "
            "as for the verdict; posts, slack and stop are moved as far as a hand can bend them, "
            "so that the worst check point lies best in its band.",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "First what changes one spring and bends nothing, then what is bent, then two springs.",
        ),
    ),
    "tolerance": (
        QT_TRANSLATE_NOOP(
            "workings",
            "Many units are drawn, every figure normal about its value with its standard "
            "uncertainty; the curve of each is predicted, and those inside the band are counted.",
        ),
        QT_TRANSLATE_NOOP(
            "workings",
            "Shares of the spread are Sobol indices (Saltelli’s estimator, with SciPy).",
        ),
    ),
}
ORIGINS: dict[str, str] = {
    "typed": QT_TRANSLATE_NOOP("workings", "typed"),
    "measured": QT_TRANSLATE_NOOP("workings", "measured"),
    "hang": QT_TRANSLATE_NOOP("workings", "hang test"),
    "dimensions": QT_TRANSLATE_NOOP("workings", "wire and coils"),
    "table": QT_TRANSLATE_NOOP("workings", "target"),
    "readings": QT_TRANSLATE_NOOP("workings", "measured"),
    "usual": QT_TRANSLATE_NOOP("workings", "as begun with"),
    "assumed": QT_TRANSLATE_NOOP("workings", "assumed"),
}


def formula_lines(key: str) -> list[str]:
    """The formulas of a result."""
    return [translate("workings", text) for text in FORMULAS[key]]


def input_rows(
    inputs: Sequence[Input], root: Record, display: Display
) -> list[tuple[str, str, str]]:
    """Of each input its name, its value with unit and uncertainty, and where it came from."""
    return [
        (place_text(i.path, root), _value(i, display), translate("workings", ORIGINS[i.origin]))
        for i in inputs
    ]


def _value(given: Input, display: Display) -> str:
    if given.parameter.kind in ("many", "whole"):
        return str(given.value)
    if given.parameter.kind == "choice":
        return option_text(given.parameter, given.value)
    quantity = given.parameter.quantity
    unit = display.unit(quantity)
    if given.origin == "assumed" and given.u:  # no finer than it is known
        return assumed_text(Blank(given.value, given.u), quantity, display)
    told = amount(given.value, quantity, unit)
    if given.u is None:
        return told
    return translate("workings", "{value} ± {u}").format(
        value=told, u=amount(given.u, quantity, unit)
    )
