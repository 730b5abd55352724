"""In which frame and unit figures are shown: the one place where they change."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Session
from bobweight.core.figure.description import Content, Word, word
from bobweight.core.figure.numbers import figure, short, span, typed, with_u
from bobweight.core.frozen import frozen
from bobweight.core.units import DEPRESSION

FRAMES = ("distributor", "crank", "crank-static")
"""Distributor figures; crank figures without static timing; crank figures with it, as most tables
are printed and lamps read."""


@frozen
class View:
    """In which frame and unit figures stand.

    Parameters
    ----------
    frame : str
        One of ``FRAMES``.
    drive_ratio : float
        Crank turns per distributor turn.
    depression_unit : str
        A symbol of :data:`core.units.DEPRESSION`.
    session : int
        Which session of readings; -1 is the last.
    static_deg : float
        Static timing, crank degrees; counts in ``crank-static`` only.

    Notes
    -----
    Static belongs to where the advance *stands* (:meth:`shown`, :meth:`at`), never to how far it
    moves or is off (:meth:`angle`), nor to the capsule, which only adds (:attr:`moving`).
    """

    frame: str = "distributor"
    drive_ratio: float = 2.0
    depression_unit: str = "kPa"
    session: int = -1
    static_deg: float = 0.0

    @property
    def factor(self) -> float:
        """What distributor speeds and angles are multiplied by."""
        return 1.0 if self.frame == "distributor" else self.drive_ratio

    @property
    def zero_deg(self) -> float:
        """What is shown for no advance."""
        return self.static_deg if self.frame == "crank-static" else 0.0

    @property
    def moving(self) -> View:
        """The view of what moves from a zero of its own, as the capsule's plate does."""
        return replace(self, frame="crank") if self.frame == "crank-static" else self

    def shown(self, deg: Any) -> Any:
        """Distributor degrees of advance (number or array) as they are shown."""
        return deg * self.factor + self.zero_deg

    def stored(self, shown_deg: Any) -> Any:
        """What :meth:`shown` was given."""
        return (shown_deg - self.zero_deg) / self.factor

    @property
    def per_kpa(self) -> float:
        """What a depression in kPa is multiplied by."""
        return DEPRESSION.stored.factor / DEPRESSION.unit(self.depression_unit).factor

    def depression(self, kpa: float | None) -> str:
        """A depression in the unit of the view, without its symbol, to one decimal; in a
        unit of ten kPa and more to as many as 0.1 kPa is told by."""
        return "" if kpa is None else short(kpa * self.per_kpa, self._decimals)

    @property
    def _decimals(self) -> int:
        return max(1 - math.ceil(math.log10(self.per_kpa) - 1e-9), 1)

    def speed(self, rpm: float | None) -> str:
        """A distributor speed, written."""
        return "" if rpm is None else figure(rpm * self.factor, 0)

    def at(self, deg: float | None) -> str:
        """Where an advance stands, written."""
        return "" if deg is None else figure(self.shown(deg))

    def at_typed(self, deg: float | None) -> str:
        """Where an advance stands that somebody typed, written as typed."""
        return "" if deg is None else typed(self.shown(deg))

    def at_u(self, deg: float | None, u_deg: float | None) -> str:
        """Where an advance stands with its standard uncertainty, written."""
        if deg is None:
            return ""
        return with_u(self.shown(deg), None if u_deg is None else u_deg * self.factor)

    def angle(self, deg: float | None, signed: bool = False) -> str:
        """By how much something moves or is off, written."""
        return "" if deg is None else figure(deg * self.factor, 1, signed)

    def between(self, low_deg: float, high_deg: float) -> Content:
        """A band in words; an infinite end is no limit."""
        return span(self.at_typed(low_deg), self.at_typed(high_deg))

    def session_of(self, docket: Docket) -> Session | None:
        """The session of readings that is shown; None if the docket has none."""
        sessions = docket.sessions
        return sessions[self.session] if -len(sessions) <= self.session < len(sessions) else None

    @property
    def said(self) -> Word:
        """The words that say which frame the figures are in."""
        return word(f"frame-{self.frame}", static=typed(self.static_deg))


def view_of(docket: Docket, frame: str = "", depression_unit: str = "kPa",
            session: int = -1) -> View:  # fmt: skip
    """The view of a docket; without a frame that of its table, in which the judgement speaks too.
    Without a static timing there is no crank with static: crank figures without it are shown."""
    static = docket.setting_up.static_deg
    frame = frame or docket.target.frame_taken
    if frame == "crank-static" and static is None:
        frame = "crank"
    ratio = docket.particulars.ratio_taken
    return View(frame, ratio, depression_unit, session, static or 0.0)
