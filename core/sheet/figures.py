"""How numbers are written on paper, and in which frame and unit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Session
from bobweight.core.sheet.description import Word, word
from bobweight.core.units import DEPRESSION

MINUS = "\N{MINUS SIGN}"
PLUS_MINUS = "\N{PLUS-MINUS SIGN}"
DEGREE = "\N{DEGREE SIGN}"
FRAMES = ("distributor", "crank")


def figure(value: float | None, decimals: int = 1, signed: bool = False) -> str:
    """A number with fixed decimals, a true minus sign and never "-0.0"; empty for None or NaN."""
    if value is None or not math.isfinite(value):
        return ""
    text = f"{abs(value):.{decimals}f}"
    if float(text) == 0:
        return text
    return (MINUS if value < 0 else "+" if signed else "") + text


def short(value: float | None, decimals: int = 3) -> str:
    """A number with no more decimals than it needs, at most ``decimals``."""
    text = figure(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_u(value: float | None, u: float | None, decimals: int = 1) -> str:
    """A number and, where stated, its standard uncertainty: ``11.2 ± 0.4``."""
    text = figure(value, decimals)
    return f"{text} {PLUS_MINUS} {figure(u, decimals)}" if text and u else text


def stated(record: Any, key: str) -> str:
    """A number of a record with its stated uncertainty, as short as can be; empty if unknown."""
    text = short(getattr(record, key))
    u = record.u.get(key)
    return f"{text} {PLUS_MINUS} {short(u)}" if text and u else text


@dataclass(frozen=True)
class View:
    """In which frame and unit the figures of a sheet stand.

    Parameters
    ----------
    frame : str
        ``distributor``, or ``crank`` (without static).
    drive_ratio : float
        Crank turns per distributor turn.
    depression_unit : str
        A symbol of :data:`core.units.DEPRESSION`.
    session : int
        Which session of readings; -1 is the last.
    """

    frame: str = "distributor"
    drive_ratio: float = 2.0
    depression_unit: str = "kPa"
    session: int = -1

    @property
    def factor(self) -> float:
        """What distributor speeds and angles are multiplied by."""
        return self.drive_ratio if self.frame == "crank" else 1.0

    @property
    def per_kpa(self) -> float:
        """What a depression in kPa is multiplied by."""
        return DEPRESSION.stored.factor / DEPRESSION.unit(self.depression_unit).factor

    def depression(self, kpa: float | None) -> str:
        """A depression in the unit of the view, without its symbol."""
        return "" if kpa is None else short(kpa * self.per_kpa, 1)

    def speed(self, rpm: float | None) -> str:
        """A distributor speed in the frame of the view."""
        return "" if rpm is None else figure(rpm * self.factor, 0)

    def angle(self, deg: float | None, signed: bool = False) -> str:
        """A distributor angle in the frame of the view."""
        return "" if deg is None else figure(deg * self.factor, 1, signed)

    def angle_u(self, deg: float | None, u_deg: float | None) -> str:
        """A distributor angle with its standard uncertainty in the frame of the view."""
        if deg is None:
            return ""
        return with_u(deg * self.factor, None if u_deg is None else u_deg * self.factor)

    def session_of(self, docket: Docket) -> Session | None:
        """The session of readings that the sheet shows; None if the docket has none."""
        sessions = docket.sessions
        return sessions[self.session] if -len(sessions) <= self.session < len(sessions) else None

    @property
    def said(self) -> Word:
        """The words that say which frame the figures are in."""
        return word(f"frame-{self.frame}")
