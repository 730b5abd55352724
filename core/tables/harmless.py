"""Texts that a spreadsheet would reckon as formulas, made harmless on the way out.

A cell that begins with =, +, −, @, a tab or a carriage return may run as a formula when the table
is opened (OWASP, CSV Injection). An apostrophe before it keeps it a text; numbers stay numbers.
"""

from __future__ import annotations

import re

_HARMFUL = re.compile(r"[=+\-−@\t\r\n＝＋－＠]")
_KEPT = re.compile(r"'+[=+\-−@\t\r\n＝＋－＠]")


def harmless(text: str) -> str:
    """The text with an apostrophe before it where it could be taken for a formula (or where it
    already looks so, that the way back is unambiguous)."""
    return "'" + text if _HARMFUL.match(text) or _KEPT.match(text) else text


def harmful_again(text: str) -> str:
    """The inverse of :func:`harmless`."""
    return text[1:] if _KEPT.match(text) else text
