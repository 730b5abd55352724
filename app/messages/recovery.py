"""What is said of work that was left when the program ended."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from bobweight.app.messages import place_text
from bobweight.app.store.journal import Leftover, Typed
from bobweight.app.store.session import fingerprint
from bobweight.app.words import cut, translate, unit_title
from bobweight.core.docket.changes import changes
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket
from bobweight.core.problems import BobweightError
from bobweight.core.problems import Path as DocketPath

_NAMED = 4


def leftover_title(left: Leftover) -> str:
    """What the work is called."""
    if left.file_path is not None and not (left.docket and left.docket.particulars.title.strip()):
        return cut(left.file_path.name)
    return cut(unit_title(left.docket))


def leftover_words(left: Leftover) -> str:
    """When it was written, which file it belongs to, and what differs."""
    parts = [_when(left), _differs(left)]
    if left.docket is not None and not left.whole:
        parts.append(translate("files", "The end of it is damaged; what came before is here."))
    parts += typed_words(left.typed)
    return " ".join(part for part in parts if part)


def typed_words(typed: Iterable[Typed]) -> list[str]:
    """What stood in fields and was not taken."""
    said = translate("files", "Typed and not taken yet, {place}: “{text}”.")
    field = translate("files", "a field")
    return [said.format(place=each.place or field, text=cut(each.text)) for each in typed]


def unchanged(left: Leftover) -> bool:
    """True if nothing would be lost with it: the file holds the same."""
    if left.docket is None or left.file_path is None or left.typed:
        return False
    try:
        return read_docket(left.file_path) == left.docket
    except BobweightError:
        return False


def _when(left: Leftover) -> str:
    if not left.at:
        return ""
    return translate("files", "Last written {time}.").format(time=left.at.replace("T", " "))


def _differs(left: Leftover) -> str:
    if left.docket is None:
        text = translate("files", "It is damaged and cannot be read. It lies in {path}.")
        return text.format(path=left.path)
    if left.file_path is None:
        return translate("files", "It was never saved in a file.")
    facts = {"name": cut(left.file_path.name), "folder": cut(str(left.file_path.parent))}
    now = fingerprint(left.file_path)
    if now is None:
        text = translate("files", "Its file “{name}” in {folder} is not there any more.")
        return text.format(**facts)
    if now == left.fingerprint:
        text = translate("files", "Of “{name}” in {folder}, which is as it was then.")
    else:
        text = translate("files", "Of “{name}” in {folder}, which was saved again since then.")
    return f"{text.format(**facts)} {_places(left.file_path, left.docket)}"


def _places(file: Path, docket: Docket) -> str:
    """Where the work and the file differ."""
    try:
        saved = read_docket(file)
    except BobweightError:
        return translate("files", "The file cannot be read.")
    paths: list[DocketPath] = [tuple(change["at"]) for change in changes(saved, docket)]
    names = list(dict.fromkeys(_name(path, docket) for path in paths))
    if not names:
        return translate("files", "Both are the same.")
    listed = ", ".join(names[:_NAMED])
    if len(names) > _NAMED:
        more = translate("files", "{names} and {count} more")
        listed = more.format(names=listed, count=len(names) - _NAMED)
    return translate("files", "Different: {names}.").format(names=listed)


def _name(path: DocketPath, docket: Docket) -> str:
    try:
        return place_text(path, docket) or translate("files", "the docket")
    except (KeyError, IndexError, AttributeError):
        return translate("files", "the docket")
