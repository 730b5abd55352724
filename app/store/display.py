"""How values are shown: frame, units and session. Stored values never change with it."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QObject, Signal

from bobweight.core.docket.docket import Docket
from bobweight.core.figure.view import FRAMES, View, view_of
from bobweight.core.units import QUANTITIES, Quantity

SWITCHED_QUANTITIES = ("depression", "length", "spring_rate", "force", "mass")
"""Keys of the quantities whose shown unit the user may switch."""


class Display(QObject):
    """One place for the whole window: distributor or crank, the units, and which session.

    Signals
    -------
    changed()
        Anything of it is another.
    cautions_changed()
        Another docket is open, of which other cautions were read.
    """

    changed = Signal()
    cautions_changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._frame = ""
        self._session = -1
        self._compared: int | None = None
        self._units: dict[str, str] = {}
        self._tab_to_uncertainty = False
        self.cautions_seen: set[str] = set()
        """Acts whose cautions were shown whole in the open docket; they begin folded."""

    @property
    def frame(self) -> str:
        """What axes and results are in, if not in the frame of the docket's table; one of
        ``FRAMES`` or empty. :meth:`view` tells which frame that is."""
        return self._frame

    @frame.setter
    def frame(self, frame: str) -> None:
        if frame and frame not in FRAMES:
            raise ValueError(frame)
        if frame != self._frame:
            self._frame = frame
            self.changed.emit()

    def choose_frame(self, frame: str, docket: Docket) -> None:
        """Show a docket in a frame; that of its table is no choice, so that the next docket is
        shown as its own table has it."""
        self.frame = "" if frame == docket.target.frame_taken else frame

    @property
    def tab_to_uncertainty(self) -> bool:
        """Whether Tab stops at the uncertainty behind each number."""
        return self._tab_to_uncertainty

    @tab_to_uncertainty.setter
    def tab_to_uncertainty(self, on: bool) -> None:
        if on != self._tab_to_uncertainty:
            self._tab_to_uncertainty = on
            self.changed.emit()

    @property
    def session(self) -> int:
        """Index of the session of readings shown; -1 is the last."""
        return self._session

    @session.setter
    def session(self, session: int) -> None:
        if session != self._session:
            self._session = session
            self.changed.emit()

    @property
    def compared(self) -> int | None:
        """Index of the session that the one shown is compared with; None for none."""
        return self._compared

    @compared.setter
    def compared(self, session: int | None) -> None:
        if session != self._compared:
            self._compared = session
            self.changed.emit()

    def compared_index(self, docket: Any) -> int | None:
        """The session compared with, if the docket has it and it is not the one shown."""
        there = self._compared is not None and 0 <= self._compared < len(docket.sessions)
        return self._compared if there and self._compared != self.session_index(docket) else None

    def session_index(self, docket: Any) -> int:
        """The session shown as a plain index of a docket's sessions; -1 if it has none."""
        count = len(docket.sessions)
        return self._session if 0 <= self._session < count else count - 1

    @property
    def shown(self) -> tuple[object, ...]:
        """All of it, to tell whether anything shown by it has become another."""
        return self._frame, self._session, self._compared, *sorted(self._units.items())

    @property
    def depression_unit(self) -> str:
        """Symbol of the unit in which depression is shown."""
        return self.unit(QUANTITIES["depression"])

    @depression_unit.setter
    def depression_unit(self, symbol: str) -> None:
        self.set_unit("depression", symbol)

    def unit(self, quantity: Quantity) -> str:
        """Symbol of the unit in which a quantity is shown."""
        return self._units.get(quantity.key, quantity.stored.symbol)

    def set_unit(self, quantity_key: str, symbol: str) -> None:
        """Show a quantity in another of its units from now on."""
        quantity = QUANTITIES[quantity_key]
        symbol = quantity.unit(symbol).symbol
        if symbol != self.unit(quantity):
            self._units[quantity_key] = symbol
            self.changed.emit()

    def view(self, docket: Docket) -> View:
        """The frame and units in which a docket's figures are shown, and the session."""
        return view_of(docket, self._frame, self.depression_unit, self.session_index(docket))
