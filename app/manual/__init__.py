"""The manual: chapters of Markdown with pictures of the real window, read in the program.

A chapter is a file in ``text`` and a line in :data:`CHAPTERS`; the chapter of a page has the page's
key, so that F1 finds it. ``bobweight manual-pictures`` makes the pictures anew.
"""

from __future__ import annotations

from importlib.resources import files
from importlib.resources.abc import Traversable

CHAPTERS = (
    "first_job", "particulars", "findings", "mechanism", "photograph", "vacuum", "target",
    "readings", "springs", "verdict", "reassembly", "setting_up", "sheet", "words", "computed",
    "files", "notebook", "keys",
)  # fmt: skip
"""Every chapter, in the order of reading."""


def chapter_text(key: str) -> str:
    """A chapter as Markdown."""
    return _folder().joinpath("text", f"{key}.md").read_text(encoding="utf-8")


def chapter_title(key: str) -> str:
    """The first line of a chapter, without its mark."""
    return chapter_text(key).partition("\n")[0].removeprefix("# ")


def picture(name: str) -> bytes | None:
    """The bytes of a picture that a chapter shows; None where it was not made."""
    place = _folder().joinpath("pictures", name)
    return place.read_bytes() if place.is_file() else None


def found_in(words: str) -> list[str]:
    """The chapters in which every word occurs, the ones with it in the title first."""
    wanted = words.casefold().split()
    found = [
        key for key in CHAPTERS if all(word in chapter_text(key).casefold() for word in wanted)
    ]
    return sorted(found, key=lambda key: not _in_title(key, wanted))


def _in_title(key: str, words: list[str]) -> bool:
    title = chapter_title(key).casefold()
    return any(word in title for word in words)


def _folder() -> Traversable:
    return files("bobweight.app.manual")
