"""The program's own typeface, so that screen and paper look the same on every system.

Bobweight Sans is cut by ``.bundle/typeface.py`` from an open one (SIL Open Font License 1.1, whose
text stands beside the files). Its figures and signs are all of one width, so columns of numbers
stand under each other. Writing that it does not hold is taken from the system's typefaces by Qt.
"""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QByteArray, QCoreApplication
from PySide6.QtGui import QFontDatabase

FAMILY = "Bobweight Sans"
STYLES = ("Regular", "Bold", "Italic")
_LOADED = "bobweight-typeface"  # a property of the application, which its typefaces belong to


def load() -> str:
    """The name of the family, which Qt knows from then on. Needs a ``QGuiApplication``."""
    application = QCoreApplication.instance()
    if application is not None and not application.property(_LOADED):
        application.setProperty(_LOADED, True)
        for style in STYLES:
            file = Path(__path__[0], f"{FAMILY.replace(' ', '')}-{style}.ttf")
            QFontDatabase.addApplicationFontFromData(QByteArray(file.read_bytes()))
    return FAMILY
