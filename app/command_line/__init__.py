"""The commands, each in a module of its own or several of a kind, and what they share.

A new command is a line in the ``COMMANDS`` of its module and one in :data:`MODULES`. A module
imports what its command works with only when the command is run.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from bobweight.app.command_line.command import Command

MODULES = {
    "predict": "predict",
    "verdict": "verdict",
    "check": "check",
    "springs": "springs",
    "import": "tables",
    "export": "tables",
    "sheet": "sheet",
    "tape": "prints",
    "ring": "prints",
    "lamp-card": "prints",
    "session-sheet": "prints",
    "check-list": "prints",
    "measuring-card": "prints",
    "manual": "manual",
    "manual-pictures": "manual",
    "picture": "picture",
    "completion": "completion",
    "desktop": "desktop",
}
"""Every command, in the order in which help lists them, and the module that has it."""


def find_command(name: str) -> Command:
    """The command of a name."""
    module = import_module(f"{__name__}.{MODULES[name]}")
    return next(found for found in module.COMMANDS if found.name == name)
