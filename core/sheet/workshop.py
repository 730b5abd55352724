"""The workshop's own heading on paper: its name, its address and its sign."""

from __future__ import annotations

from bobweight.core.frozen import frozen
from bobweight.core.sheet.description import Element, Picture, Text, plain

LOGO_MM = (34.0, 13.0)
"""The most room for the sign, across and up."""
_NAME_PT, _LINE_PT = 12.0, 8.0
_NAME_MM, _LINE_MM = 5.2, 3.5
_BELOW_MM = 1.6
_MOST_LINES = 3


@frozen
class Logo:
    """A picture as the bytes of its file, and how many times wider than high it is."""

    data: bytes
    aspect: float

    def size_mm(self) -> tuple[float, float]:
        """Width and height on paper."""
        width = min(LOGO_MM[0], LOGO_MM[1] * self.aspect)
        return width, width / self.aspect


@frozen
class Workshop:
    """Who hands the sheet over; empty fields leave no gap."""

    name: str = ""
    lines: tuple[str, ...] = ()
    logo: Logo | None = None

    @property
    def height_mm(self) -> float:
        """What the heading takes from the page; 0 if there is nothing to show."""
        if self.logo:
            return max(self.logo.size_mm()[1], self._words_mm()) + _BELOW_MM
        return _NAME_MM + _BELOW_MM if self._said() else 0.0

    def elements(self, x_mm: float, y_mm: float, width_mm: float) -> list[Element]:
        """Name and address; on one line, or beside the sign, which stands at the right."""
        name, lines = plain(self.name), self._lines()
        if not self.logo:
            return _on_one_line(x_mm, y_mm, width_mm, name, ", ".join(lines))
        width, height = self.logo.size_mm()
        made: list[Element] = [
            Picture(x_mm + width_mm - width, y_mm, width, height, self.logo.data)
        ]
        room = width_mm - width - 4.0
        if name:
            made.append(Text(x_mm, y_mm + 4.0, name, _NAME_PT, bold=True, room_mm=room))
            y_mm += _NAME_MM
        for number, line in enumerate(lines):
            y = y_mm + 2.7 + _LINE_MM * number
            made.append(Text(x_mm, y, line, _LINE_PT, room_mm=room))
        return made

    def _said(self) -> bool:
        return bool(plain(self.name) or self._lines())

    def _words_mm(self) -> float:
        return (_NAME_MM if plain(self.name) else 0.0) + _LINE_MM * len(self._lines())

    def _lines(self) -> list[str]:
        """The address in at most three lines: more are set beside each other."""
        lines = [plain(line) for line in self.lines if plain(line)]
        while len(lines) > _MOST_LINES:
            lines[-2:] = [f"{lines[-2]}, {lines[-1]}"]
        return lines


def _on_one_line(x_mm: float, y_mm: float, width_mm: float, name: str,
                 address: str) -> list[Element]:  # fmt: skip
    """The name on the left and the address on the right share the width evenly."""
    half = width_mm / 2 - 2.0
    made: list[Element] = []
    if name:
        room = half if address else width_mm
        made.append(Text(x_mm, y_mm + 4.0, name, _NAME_PT, bold=True, room_mm=room))
    if address:
        room = half if name else width_mm
        made.append(Text(x_mm + width_mm, y_mm + 4.0, address, _LINE_PT, align="right",
                         room_mm=room))  # fmt: skip
    return made
