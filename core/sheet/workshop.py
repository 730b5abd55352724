"""The workshop's own heading on paper: its name, its address and its sign."""

from __future__ import annotations

from dataclasses import dataclass

from core.sheet.description import Element, Picture, Text, plain

LOGO_MM = (34.0, 13.0)
"""The most room for the sign, across and up."""
_NAME_PT, _LINE_PT = 12.0, 8.0
_NAME_MM, _LINE_MM = 5.2, 3.5
_BELOW_MM = 2.4
_MOST_LINES = 4


@dataclass(frozen=True)
class Logo:
    """A picture as the bytes of its file, and how many times wider than high it is."""

    data: bytes
    aspect: float

    def size_mm(self) -> tuple[float, float]:
        """Width and height on paper."""
        width = min(LOGO_MM[0], LOGO_MM[1] * self.aspect)
        return width, width / self.aspect


@dataclass(frozen=True)
class Workshop:
    """Who hands the sheet over; empty fields leave no gap."""

    name: str = ""
    lines: tuple[str, ...] = ()
    logo: Logo | None = None

    @property
    def height_mm(self) -> float:
        """What the heading takes from the page; 0 if there is nothing to show."""
        name, lines = self._words()
        words = (_NAME_MM if name else 0.0) + _LINE_MM * len(lines)
        tall = max(words, self.logo.size_mm()[1] if self.logo else 0.0)
        return tall + _BELOW_MM if tall else 0.0

    def elements(self, x_mm: float, y_mm: float, width_mm: float) -> list[Element]:
        """Name and address on the left, the sign on the right."""
        made: list[Element] = []
        room = width_mm
        if self.logo:
            width, height = self.logo.size_mm()
            made.append(Picture(x_mm + width_mm - width, y_mm, width, height, self.logo.data))
            room -= width + 4.0
        name, lines = self._words()
        if name:
            made.append(Text(x_mm, y_mm + 4.0, name, _NAME_PT, bold=True, room_mm=room))
            y_mm += _NAME_MM
        for number, line in enumerate(lines):
            y = y_mm + 2.7 + _LINE_MM * number
            made.append(Text(x_mm, y, line, _LINE_PT, room_mm=room))
        return made

    def _words(self) -> tuple[str, tuple[str, ...]]:
        """Name and address, at most four lines: more are set beside each other."""
        lines = [plain(line) for line in self.lines if plain(line)]
        while len(lines) > _MOST_LINES:
            lines[-2:] = [f"{lines[-2]}, {lines[-1]}"]
        return plain(self.name), tuple(lines)
