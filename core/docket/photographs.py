"""Photographs by reference: the docket holds names, the copies lie in a folder beside its file."""

from __future__ import annotations

from bobweight.core.record import Record, stored, text


@stored
class Photograph(Record):
    """One photograph."""

    file: str = text(
        "File", help="Name of the copy in the folder of photographs beside the docket's file."
    )
    caption: str = text("Shows", help="What there is to see.")
    taken: str = text("Taken", help="The day: year-month-day.")


def photographs_folder(docket_name: str) -> str:
    """Name of the folder beside a docket's file: ``mine.docket`` has ``mine.photos``."""
    stem = docket_name.removesuffix(".docket")
    return f"{stem}.photos"


def is_plain_name(name: str) -> bool:
    """True for the name of a file without any folder in it, on every platform: a docket that came
    by mail must not reach outside its own folder."""
    return (
        bool(name.strip(" ."))
        and not any(c in name for c in '/\\:\0<>|?*"')
        and name == name.strip()
    )
