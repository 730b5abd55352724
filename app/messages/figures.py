"""Figures as the parts write them: a value with its uncertainty, rounded to match. No widgets."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import TYPE_CHECKING

from bobweight.app.words import amount, option_text, significant, translate, with_unit, written
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.spring_source import SpringSource
from bobweight.core.figure.numbers import figure as rounded
from bobweight.core.record import Record, is_assumed, parameters, taken
from bobweight.core.units import Quantity

if TYPE_CHECKING:  # the first page shown writes figures, and has no tray
    from bobweight.app.store.display import Display
    from bobweight.core.design.tray import TraySpring
    from bobweight.core.judgement.outcome import Outcome


def figure(value: float, u: float | None = None) -> str:
    """A number; with an uncertainty both to its second digit: "1.234 ± 0.012"."""
    if u is None or not math.isfinite(u) or u <= 0:
        return significant(value, 4)
    digits = min(max(1 - math.floor(math.log10(u)), 0), 6)
    return f"{value:.{digits}f} ± {u:.{digits}f}".replace("-", "−")


def amount_u(
    value: float | None, u: float | None, quantity: Quantity, display: Display, unit: bool = True
) -> str:
    """A stored value with its standard uncertainty in the unit shown; a dash if not known."""
    if value is None:
        return "–"
    symbol = display.unit(quantity)
    factor = quantity.unit(symbol).factor
    text = figure(value / factor, u / factor) if u else written(value, quantity, symbol)
    return with_unit(text, symbol) if unit else text


def even(value: float, quantity: Quantity, symbol: str) -> str:
    """A stored value in a unit, with the decimals that are usual for its quantity, so that figures
    below each other are of one fineness."""
    factor = quantity.unit(symbol).factor
    digits = max(quantity.decimals + math.floor(math.log10(factor)), 0)
    return f"{value / factor:.{digits}f}".replace("-", "−")


def field_text(record: Record, key: str, display: Display, unit: bool = True) -> str:
    """A value of a record with its stated uncertainty, in the unit shown."""
    quantity = parameters(record)[key].quantity
    return amount_u(getattr(record, key), record.u.get(key), quantity, display, unit)


def known_text(source: SpringSource) -> str:
    """How a spring is known, in words."""
    return option_text(parameters(source)["known_from"], source.known_from)


def sure_text(spring: TraySpring) -> str:
    """How a spring is known and how sure, as a sentence."""
    if spring.rate_n_per_mm is None:
        return translate("springs", "The rate is not known yet.")
    u = spring.u.get("rate_n_per_mm")
    known = known_text(spring.source)
    if u is None:
        text = translate("springs", "{known}; how sure the rate is has not been stated.")
        return text.format(known=known)
    percent = significant(100 * u / spring.rate_n_per_mm, 2)
    text = translate("springs", "{known}; the rate is sure to about ± {percent} %.")
    return text.format(known=known, percent=percent)


def spring_title(spring: TraySpring, row: int) -> str:
    """What a spring of the tray is called."""
    return spring.label.strip() or translate("springs", "Spring {number}").format(number=row + 1)


def work_word(work: str) -> str:
    """What is to be done for a pair, in a word or two."""
    return {
        "one-spring": translate("springs", "1 spring"),
        "one-spring-bent": translate("springs", "1 + bend"),
        "two-springs": translate("springs", "2 + bend"),
        "two-springs-unbent": translate("springs", "2 springs"),
    }[work]


def signed(value: float, digits: int = 1) -> str:
    """Degrees with their sign, minus as a sign."""
    return rounded(value, digits, True)


def degrees(value: float, digits: int = 1) -> str:
    """Degrees with the degree sign."""
    return f"{rounded(value, digits)}°"


def session_name(docket: Docket, index: int) -> str:
    """What a session is called in a sentence."""
    title = docket.sessions[index].title
    return title or translate("pages", "Session {number}").format(number=index + 1)


def session_title(docket: Docket, index: int) -> str:
    """What a session is called in a list: with its date."""
    name, date = session_name(docket, index), docket.sessions[index].date
    return f"{name}, {date}" if date else name


def judged_by(outcome: Outcome, also_read: Collection[int] = ()) -> str:
    """By which session's readings a unit is judged, and which others count too."""
    if outcome.session < 0:
        return translate("verdict", "There is no session of readings yet.")
    text = translate("verdict", "Judged by the readings of “{session}”, {count}\u00a0in\u00a0use.")
    used = int((~outcome.reduced.left_out).sum())
    if not len(outcome.reduced.left_out):
        text = translate("verdict", "“{session}” has no readings yet.")
    elif not used:
        text = translate("verdict", "No reading of “{session}” is in use.")
    text = text.format(session=session_title(outcome.docket, outcome.session), count=used)
    if used and also_read:
        more = translate("verdict", "What no alteration touched is also known from {sessions}.")
        titles = (f"“{session_title(outcome.docket, each)}”" for each in sorted(also_read))
        text += " " + more.format(sessions=", ".join(titles))
    return text


def taken_text(record: Record, key: str, *, before: str = "") -> str:
    """A value of a record in words; what is taken where nobody entered it says so."""
    parameter, value = parameters(record)[key], taken(record, key)
    if parameter.kind == "choice":
        text = option_text(parameter, value)
    else:
        text = before + amount(value, parameter.quantity)
    if is_assumed(record, key):
        return translate("pages", "{value} (assumed)").format(value=text)
    return text
