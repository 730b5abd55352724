"""What each column of a table means."""

from __future__ import annotations

import re
import statistics
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.tables.cells import BLANK, NUMERIC, angle_text, direction, number_of
from bobweight.core.tables.frames import Place
from bobweight.core.tables.grid import Grid
from bobweight.core.tables.headings import (
    CRANK_UNTOLD,
    IGNORED,
    QUANTITY_OF,
    ROW_NUMBER,
    UNKNOWN,
    Heading,
    is_unit,
)
from bobweight.core.tables.understood import Choice, UnderstoodColumn
from bobweight.core.units import ANGLE, DEPRESSION, SPEED, Quantity

NEEDED = {
    "readings": ({"speed_rpm"}, {"angle_deg", "rising_deg", "falling_deg"}),
    "target": ({"speed_rpm", "depression_kpa"}, {"least_deg", "most_deg", "band_deg"}),
    "vacuum": ({"depression_kpa"}, {"least_deg", "most_deg", "band_deg"}),
    "tray": ({"rate_n_per_mm"},),
}
"""What a table of each kind cannot do without: of each set one meaning."""
_SLOW_RPM = 150.0  # no engine runs so slowly: numbers below are in another unit
_ANGLES_DEG = (-60.0, 90.0)
_READ = ("angle_deg", "rising_deg", "falling_deg")
_MINUTES = re.compile(r"\W*(?:min|mins|minutes|arc ?min(?:utes)?|′|')\W*", re.I)
_STATIC_BESIDE = re.compile(r"^\W*(?:initial|static|base)\b", re.I)
_NO_STATIC = re.compile(r"centrifugal|mechanical|fliehkraft|centrifuge", re.I)
_NO_STATIC_DEG = 1.0  # so little advance at the slowest holds no static


def is_number(cell: str) -> bool:
    """Whether a cell begins as a number does and is not merely a unit such as 1/min."""
    if _PLAIN_NUMBER.fullmatch(cell):
        return True
    return bool(NUMERIC.match(cell)) and not is_unit(cell)


_PLAIN_NUMBER = re.compile(r"[+\-−]?\d[\d.,]*")


@frozen
class Layout:
    """A table with its heading found.

    Parameters
    ----------
    headings : tuple of str
        Of each column; empty where there is none.
    told : tuple of Heading
        What each says.
    heading_lines : tuple of tuple of str
        The lines that make the heading: repeated further down they are no rows.
    body : tuple of (int, tuple of str)
        The rows.
    passed_over : tuple of int
        Lines that are no rows.
    before : tuple of (int, tuple of str)
        Rows above the heading.
    ways : tuple of (int, str)
        Lines with nothing but a direction, which the readings below them share; a title of another
        kind ends that: empty.
    said : frozenset of (str or None, bool or None)
        What titles, comments and words below say of all figures: whose, and with static or not.
    """

    kind: str
    grid: Grid
    headings: tuple[str, ...]
    told: tuple[Heading, ...]
    heading_lines: tuple[tuple[str, ...], ...]
    body: tuple[tuple[int, tuple[str, ...]], ...]
    passed_over: tuple[int, ...]
    before: tuple[tuple[int, tuple[str, ...]], ...] = ()
    ways: tuple[tuple[int, str], ...] = ()
    said: frozenset[tuple[str | None, bool | None]] = frozenset()

    @cached_property
    def cells(self) -> tuple[tuple[str, ...], ...]:
        """The filled cells of each column."""
        found: list[list[str]] = [[] for _ in range(self.grid.width)]
        for _, row in self.body:
            for index, cell in enumerate(row):
                if not BLANK.fullmatch(cell):
                    found[index].append(cell)
        return tuple(tuple(column) for column in found)

    @property
    def headed(self) -> bool:
        """Whether there is a heading at all."""
        return bool(self.heading_lines)

    def values(self, index: int, quantity: Quantity) -> list[float]:
        """The numbers of a column, read as this quantity; those that cannot be read are left out.

        ``index`` counts from 0.
        """
        found = []
        for cell in self.cells[index][:500]:
            try:
                found.append(number_of(cell, quantity, None, self.grid.mark))
            except BobweightError:
                continue
        return found

    def columns(self, place: Place, chosen: Mapping[int, Choice]) -> tuple[UnderstoodColumn, ...]:
        """What each column means, with what was chosen by hand."""
        found = [
            UnderstoodColumn(i + 1, heading, told.meaning, told.frame, told.unit, told.sure,
                   told.problem or "named")
            for i, (heading, told) in enumerate(zip(self.headings, self.told, strict=True))
        ]  # fmt: skip
        for i, column in enumerate(found):
            if i + 1 in chosen:
                said = chosen[i + 1]
                found[i] = replace(
                    column, meaning=said.meaning, sure=True, reason="chosen",
                    unit=said.unit or (column.unit if said.meaning == column.meaning
                                       or _same_quantity(said.meaning, column.unit) else None),
                    frame=said.frame or column.frame,
                )  # fmt: skip
            elif column.meaning == UNKNOWN:
                found[i] = self._by_cells(column)
        found = _once(self._without_hidden(found), place)
        found = self._with_minutes(self._offered(found))
        found = [self._with_unit(c, place) for c in found]
        return tuple(self._with_frames(found, place, chosen))

    def _by_cells(self, column: UnderstoodColumn) -> UnderstoodColumn:
        """A column that no heading names: as its cells say themselves, where they do."""
        cells = self.cells[column.index - 1]
        if not cells:
            return replace(column, meaning=IGNORED, reason="empty")
        if self.kind == "readings" and all(direction(c) for c in cells):
            return replace(column, meaning="direction", reason="words")
        if _counts(cells) and (len(cells) >= 3 or column.heading):
            return replace(column, meaning=ROW_NUMBER, reason="counting")
        if not any(is_number(c) for c in cells):
            text = {"readings": "note", "tray": "label" if not column.heading else UNKNOWN}
            meaning = text.get(self.kind, IGNORED)
            return replace(column, meaning=meaning if not column.heading or self.kind == "tray"
                           else IGNORED, reason="words")  # fmt: skip
        if not column.heading:
            for meaning, quantity in _UNITS_TELL.get(self.kind, ()):
                if all(_carries_unit(cell, quantity) for cell in cells):
                    return replace(column, meaning=meaning, reason="cells")
        return replace(column, sure=False, reason="not-named")

    def _offered(self, found: list[UnderstoodColumn]) -> list[UnderstoodColumn]:
        """What is needed and not named is offered from the columns of numbers that are left."""
        if self.kind == "tray":
            return self._tray_label(found)
        numeric = [
            i for i, c in enumerate(found)
            if c.meaning == UNKNOWN and any(is_number(cell) for cell in self.cells[i])
        ]  # fmt: skip
        there = {c.meaning for c in found}
        first, rest = NEEDED[self.kind]
        lead = "depression_kpa" if self.kind == "vacuum" else "speed_rpm"
        if not there & first and numeric:
            fast = [i for i in numeric if self.kind != "vacuum" and self._is_speed(i)]
            at = (fast or numeric)[0]
            numeric.remove(at)
            found[at] = replace(found[at], meaning=lead, sure=False, reason="not-named")
        if not there & rest and numeric:
            if self.kind == "readings":
                found[numeric[0]] = replace(found[numeric[0]], meaning="angle_deg", sure=False)
            elif len(numeric) == 1:
                found[numeric[0]] = replace(found[numeric[0]], meaning="band_deg", sure=False)
            else:
                for at, meaning in zip(numeric, ("least_deg", "most_deg"), strict=False):
                    found[at] = replace(found[at], meaning=meaning, sure=False)
        return self._swapped(found)

    def _tray_label(self, found: list[UnderstoodColumn]) -> list[UnderstoodColumn]:
        """The first column of words is the label, whatever it is called; the rest go to notes."""
        if not any(c.meaning == "label" for c in found):
            for i, c in enumerate(found):
                if c.meaning in (UNKNOWN, ROW_NUMBER) and c.reason in ("words", "counting"):
                    found[i] = replace(c, meaning="label", sure=True, reason="words")
                    break
        return found

    def _is_speed(self, index: int) -> bool:
        values = self.values(index, SPEED)
        return bool(values) and statistics.median(values) > _SLOW_RPM

    def _swapped(self, found: list[UnderstoodColumn]) -> list[UnderstoodColumn]:
        """Speed and angle whose numbers can only be each other's are offered the other way."""
        if self.kind != "readings":
            return found
        speeds = [i for i, c in enumerate(found) if c.meaning == "speed_rpm"]
        angles = [i for i, c in enumerate(found) if c.meaning == "angle_deg"]
        if len(speeds) != 1 or len(angles) != 1:
            return found
        s, a = speeds[0], angles[0]
        if "chosen" in (found[s].reason, found[a].reason):
            return found
        slow, steep = self.values(s, SPEED), self.values(a, ANGLE)
        if not slow or not steep:
            return found
        impossible = sum(v > _ANGLES_DEG[1] + 30 for v in steep) > 0.5 * len(steep)
        if impossible and statistics.median(slow) < _ANGLES_DEG[1]:
            found[s] = replace(found[s], meaning="angle_deg", unit=None, frame=None, sure=False,
                               reason="swapped")  # fmt: skip
            found[a] = replace(found[a], meaning="speed_rpm", unit=None, frame=None, sure=False,
                               reason="swapped")  # fmt: skip
        return found

    def _with_unit(self, column: UnderstoodColumn, place: Place) -> UnderstoodColumn:
        """The unit of bare numbers; not sure where the table does not say and it may be another."""
        quantity = QUANTITY_OF.get(column.meaning)
        if quantity is None:
            return replace(column, unit=None)
        if column.unit is not None:
            column = replace(column, unit=quantity.unit(column.unit).symbol)
            named = column.sure and column.reason != "chosen" and column.meaning == "speed_rpm"
            if named and column.unit == quantity.stored.symbol and self._is_slow(column):
                return replace(column, sure=False, reason="too-slow")
            return column
        bare = not all(_carries_unit(c, quantity) for c in self.cells[column.index - 1])
        unit = place.depression_unit if quantity is DEPRESSION else quantity.stored.symbol
        column = replace(column, unit=unit)
        if not column.sure or not bare or column.reason == "chosen" or quantity is ANGLE:
            return column
        if quantity is SPEED and (column.meaning.startswith("u_") or not self._is_slow(column)):
            return column
        return replace(column, sure=False, reason="unit-not-told")

    def _is_slow(self, column: UnderstoodColumn) -> bool:
        values = self.values(column.index - 1, SPEED)
        return bool(values) and 0 <= max(values) < _SLOW_RPM

    def _without_hidden(self, found: list[UnderstoodColumn]) -> list[UnderstoodColumn]:
        """Columns that a spreadsheet hides: not taken, but asked about where only they hold what
        has a quantity."""
        hidden = self.grid.hidden_columns
        seen = {c.meaning for c in found if c.index not in hidden}
        for i, c in enumerate(found):
            if c.index not in hidden or c.reason in ("chosen", "empty"):
                continue
            alone = c.meaning in QUANTITY_OF and c.meaning not in seen
            found[i] = replace(c, sure=not alone, reason="hidden", meaning=c.meaning if alone
                               else IGNORED)  # fmt: skip
        return found

    def speeds_beside(self, columns: tuple[UnderstoodColumn, ...]) -> list[UnderstoodColumn]:
        """Columns of the same speeds in another frame than those that are taken, unless it was
        said by hand which are meant."""
        if any(c.meaning == "speed_rpm" and not (c.sure and c.reason == "named") for c in columns):
            return []
        return [
            replace(c, meaning="speed_rpm", frame=_side(told.frame), unit=told.unit)
            for c, told in zip(columns, self.told, strict=True)
            if c.reason == "twice" and told.meaning == "speed_rpm" and told.frame and told.sure
        ]

    def _with_minutes(self, found: list[UnderstoodColumn]) -> list[UnderstoodColumn]:
        """Degrees whose minutes stand in the next column are not whole."""
        for i, (column, after) in enumerate(pairwise(found)):
            if column.meaning not in _READ or not _MINUTES.fullmatch(after.heading):
                continue
            minutes = all(c.isdigit() and int(c) < 60 for c in self.cells[i + 1])
            if minutes and column.sure and column.reason != "chosen":
                found[i] = replace(column, sure=False, reason="minutes-beside")
        return found

    def _with_frames(
        self, found: list[UnderstoodColumn], place: Place, chosen: Mapping[int, Choice]
    ) -> list[UnderstoodColumn]:
        """The frame of each speed and advance: as it is told, else as the table's others are, else
        as the place keeps its figures."""
        for i, c in enumerate(found):
            before_tdc = _is_angle(c) and any(angle_text(cell)[1] for cell in self.cells[i])
            if before_tdc and c.frame in (None, CRANK_UNTOLD):
                found[i] = replace(c, frame="crank-static")
        told = {c.frame for c in found if c.frame and c.matters}
        sides = {_side(frame) for frame in told if frame != "cam"}
        angles = [i for i, c in enumerate(found) if c.frame == CRANK_UNTOLD and _is_angle(c)]
        for i, c in enumerate(found):
            quantity = QUANTITY_OF.get(c.meaning)
            if quantity not in (SPEED, ANGLE) or self.kind == "tray":
                found[i] = replace(c, frame=None)
                continue
            own = place.speed_frame if quantity is SPEED else place.angle_frame
            if c.meaning.startswith("u_") or c.meaning == "tolerance_deg":
                found[i] = replace(c, frame=c.frame or own)
                continue
            by_hand = i + 1 in chosen
            frame, sure, reason = c.frame, c.sure, c.reason
            if frame == "cam":
                frame, sure, reason = "distributor", False, "frame-not-told"
            elif frame is None and sides and sides != {_side(own)}:
                other = "distributor" if "distributor" in sides else "crank"
                if len(sides) == 1 and not by_hand:
                    frame, sure, reason = other, False, "frame-not-told"
            if (
                frame in (None, CRANK_UNTOLD)
                and not by_hand
                and (said := self._said(own, quantity, frame))
            ):
                (frame, reason), sure = said, False
            frame = frame or own
            if quantity is SPEED:
                frame = _side(frame)
            elif self.kind == "vacuum" and frame == "crank-static":
                frame, sure, reason = "crank", False, "static-not-told"
            elif frame == CRANK_UNTOLD:
                frame, reason = self._static_told(angles, own, reason)
                sure = sure and reason != "static-not-told"
            elif c.frame is None and frame == "crank-static" and not by_hand and sure:
                alone = _NO_STATIC.search(c.heading)
                sure = not alone and not any(_STATIC_BESIDE.search(h) for h in self.headings)
                reason = reason if sure else "static-not-told"
            needs_static = quantity is ANGLE and frame != own and "crank-static" in (frame, own)
            if needs_static and place.static_deg is None:
                sure, reason = False, "table-static-needed"
            found[i] = replace(c, frame=frame, sure=sure, reason=reason)
        return found

    def _said(
        self, own: str, quantity: Quantity | None, told: str | None
    ) -> tuple[str, str] | None:
        """The frame that words beside the table give to figures whose heading does not tell, where
        it is another than the place’s, and the reason to ask."""
        for side, static in self.said:
            crank = {True: "crank-static", False: "crank", None: CRANK_UNTOLD}[static]
            if side and side != _side(own) and told is None:
                return (side if side == "distributor" else crank), "frame-not-told"
            known = quantity is ANGLE and static is not None and own != "distributor"
            if known and self.kind != "vacuum" and crank != own:
                return crank, "static-not-told"
        return None

    def _static_told(self, angles: list[int], own: str, reason: str) -> tuple[str, str]:
        """Crank degrees of which the heading does not say whether static is in them."""
        if own != "distributor" or self.kind == "vacuum":  # a capsule knows nothing of static
            return "crank" if self.kind == "vacuum" else own, reason
        values = [v for i in angles for v in self.values(i, ANGLE)]
        if values and min(abs(v) for v in values) <= _NO_STATIC_DEG:
            return "crank", reason
        return "crank", "static-not-told"


_UNITS_TELL: dict[str, tuple[tuple[str, Quantity], ...]] = {
    "readings": (("speed_rpm", SPEED), ("angle_deg", ANGLE), ("depression_kpa", DEPRESSION)),
    "target": (("speed_rpm", SPEED), ("band_deg", ANGLE)),
    "vacuum": (("depression_kpa", DEPRESSION), ("band_deg", ANGLE)),
}


def _is_angle(column: UnderstoodColumn) -> bool:
    return QUANTITY_OF.get(column.meaning) is ANGLE


def _side(frame: str) -> str:
    return "distributor" if frame in ("distributor", "cam") else "crank"


def _same_quantity(meaning: str, unit: str | None) -> bool:
    quantity = QUANTITY_OF.get(meaning)
    return quantity is not None and unit in {u.symbol for u in quantity.units}


def _carries_unit(cell: str, quantity: Quantity) -> bool:
    match = re.fullmatch(r"[^A-Za-z°\"″′%]*?[\d.,\s]([A-Za-z°\"″′%][^\d]*\d?)", cell)
    if not match or not re.search(r"\d", cell):
        return False
    name = re.sub(r"\b(btdc|atdc)\b", "°", match[1].strip(), flags=re.I)
    try:
        quantity.unit(name)
    except BobweightError:
        return False
    return True


def _counts(cells: tuple[str, ...]) -> bool:
    """Whether the cells count up by one, from nought or one."""
    if not all(re.fullmatch(r"\d+\.?", cell) for cell in cells):
        return False
    numbers = [int(cell.rstrip(".")) for cell in cells]
    return numbers[0] in (0, 1) and all(b - a == 1 for a, b in pairwise(numbers))


def _once(found: list[UnderstoodColumn], place: Place) -> list[UnderstoodColumn]:
    """Of a meaning that stands twice, the column in the frame of the place; repeats of an angle
    under like headings are all taken."""
    for meaning in dict.fromkeys(c.meaning for c in found):
        same = [i for i, c in enumerate(found) if c.meaning == meaning]
        if len(same) < 2 or (meaning not in QUANTITY_OF and meaning not in ("direction", "label")):
            continue
        stems = {re.sub(r"[\d\s#.()_-]|\b(run|no|reading|test)\b", "", found[i].heading.lower())
                 for i in same}  # fmt: skip
        between = {c.meaning for c in found[same[0] : same[-1]]}
        if meaning in _READ and len(stems) == 1 and not between & {"speed_rpm", "depression_kpa"}:
            continue
        quantity = QUANTITY_OF.get(meaning)
        own = place.speed_frame if quantity is SPEED else _side(place.angle_frame)
        fitting = [i for i in same if found[i].frame and _side(found[i].frame or "") == own]
        sides = {found[i].frame and _side(found[i].frame or "") for i in same}
        chosen = [i for i in same if found[i].reason == "chosen"]
        kept = (chosen or fitting or same)[0]
        clear = bool(chosen) or (quantity in (SPEED, ANGLE) and len(fitting) == 1
                                 and len(sides) == len(same))  # fmt: skip
        clear = clear or (
            quantity is DEPRESSION and len({found[i].unit for i in same}) == len(same)
        )
        for i in same:
            if i != kept:
                found[i] = replace(found[i], meaning=IGNORED, reason="twice")
            elif not clear:
                found[i] = replace(found[i], sure=False, reason="twice")
    return found
