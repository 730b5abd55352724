"""Photographs by reference: the docket holds names, the copies lie in a folder beside its file."""

from __future__ import annotations

import re

from bobweight.core.record import Record, stored, text


@stored
class Photograph(Record):
    """One photograph."""

    file: str = text(
        "File", help="Name of the copy in the folder of photographs beside the docket’s file."
    )
    caption: str = text("Shows", help="What there is to see.")
    taken: str = text("Taken", help="The day: year-month-day.")


def photographs_folder(docket_name: str) -> str:
    """Name of the folder beside a docket's file: ``mine.docket`` has ``mine.photos``."""
    stem = docket_name.removesuffix(".docket")
    return f"{stem}.photos"


_DEVICES = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)
_LONGEST_NAME = 200


def is_plain_name(name: str) -> bool:
    """True for the name of a file without any folder in it, on every platform: a docket that came
    by mail must not reach outside its own folder, nor a device, nor show a false ending."""
    return (
        bool(name.strip(" ."))
        and len(name) <= _LONGEST_NAME
        and name.isprintable()
        and not any(c in name for c in '/\\:<>|?*"')
        and name == name.strip().rstrip(".")
        and not _DEVICES.fullmatch(name)
    )
