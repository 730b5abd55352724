"""How much room a window has, and how it is shared out: in one place, in logical pixels."""

from __future__ import annotations

from PySide6.QtCore import QSize

_PAGE_SHARE = 0.27  # of the width, at first
_PAGE_MOST = 76  # but no wider than so many characters
_PAGE_CHARACTERS = 50  # and no narrower, in characters
_LARGE_SHARE, _LARGE_MOST = 0.46, 118  # likewise where two columns of fields have room
PAGE_LEAST = 47  # what a row of label, number, unit and uncertainty needs
SMALL_HEIGHT, SMALL_WIDTH, LARGE_WIDTH = 720, 1180, 1900
_FEW_CHARACTERS, _LOW_CHARACTERS = 104, 61  # likewise with large type
_ONE_PICTURE, _TWO_PICTURES = 22, 40
_FIRST = QSize(1350, 692)  # fits 1366 × 768 with its frame and a taskbar
_LEAST_SCREEN = 1000  # a narrower one is none that anything can be told by
_SHARE_OF_SCREEN = 0.9


def first_size(screen: QSize) -> QSize:
    """Size of the window at its first start, for what the screen leaves it."""
    if screen.width() < _LEAST_SCREEN:
        return _FIRST
    if screen.width() < LARGE_WIDTH:
        return _FIRST.boundedTo(QSize(screen.width() - 4, screen.height() - 36))
    return screen * _SHARE_OF_SCREEN


def is_small(size: QSize, character: int) -> bool:
    """True for a window that has a rail of pages and one large picture, with type of which a
    character is so wide."""
    few = size.width() < character * _FEW_CHARACTERS or size.height() < character * _LOW_CHARACTERS
    return few or size.height() <= SMALL_HEIGHT or size.width() <= SMALL_WIDTH


def board_least(small: bool, character: int) -> int:
    """The least width of the board: of one picture, or of two side by side."""
    return character * (_ONE_PICTURE if small else _TWO_PICTURES)


def room_name(size: QSize, character: int) -> str:
    """``small``, ``usual`` or ``large``: what is remembered of the shares is kept by it."""
    if is_small(size, character):
        return "small"
    return "large" if size.width() >= LARGE_WIDTH else "usual"


def page_width(window: int, character: int) -> int:
    """Width of the page at first, for a window so wide and a character so wide: two columns of
    fields on a large one."""
    if window >= LARGE_WIDTH:
        return min(int(window * _LARGE_SHARE), character * _LARGE_MOST)
    wanted = max(int(window * _PAGE_SHARE), character * _PAGE_CHARACTERS)
    return min(wanted, character * _PAGE_MOST)
