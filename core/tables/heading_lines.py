"""Which line of a table is its heading."""

from __future__ import annotations

import re

from bobweight.core.tables.cells import direction
from bobweight.core.tables.columns import NEEDED, Layout, is_number
from bobweight.core.tables.grid import Grid
from bobweight.core.tables.headings import (
    IGNORED,
    UNKNOWN,
    frame_said,
    heading_of,
    is_unit,
    names_something,
    title_way,
)

_LOOKED_THROUGH = 40  # lines in which a heading is sought
_MOST_HEADING_LINES = 3
_SERIAL = re.compile(r"(?<!\d)(?!10+\b)\d{2,}")  # a title has it, a heading hardly


def find_layout(grid: Grid, kind: str) -> Layout:
    """The table with its heading, above, in a comment, or down the left side."""
    at = _heading_line(grid, kind)
    if at is None:
        turned = _turned(grid, kind)
        if turned is not None:
            return find_layout(turned, kind)
        return _headed_by_comment(grid, kind) or _layout(grid, kind, (), 0)
    lines = [grid.lines[at][1]]
    above = at - 1
    while above >= 0 and len(lines) < _MOST_HEADING_LINES and _heads(grid.lines[above][1], kind):
        lines.insert(0, grid.lines[above][1])
        above -= 1
    below = at + 1
    while below < len(grid.lines) and _continues(grid.lines[below][1], kind):
        lines.append(grid.lines[below][1])
        below += 1
    return _layout(grid, kind, tuple(lines), below, above + 1)


def _layout(
    grid: Grid, kind: str, lines: tuple[tuple[str, ...], ...], first: int, before: int = 0
) -> Layout:
    if lines and grid.separator == " ":
        rest = [cells for _, cells in grid.lines[first:]]
        lines = tuple(_joined(cells, kind, rest) for cells in lines)
    headings = _merged(lines, grid.width)
    told = tuple(heading_of(text, kind) for text in headings)
    body, skipped = [], [n for n, _ in grid.lines[before:first]]
    for number, cells in grid.lines[first:]:
        if (lines and cells in lines) or (kind == "readings" and _way(cells)):
            skipped.append(number)
        else:
            body.append((number, cells))
    early = [(n, cells) for n, cells in grid.lines[:before]]
    rows_before = tuple((n, c) for n, c in early if sum(is_number(cell) for cell in c) >= 2)
    skipped += [n for n, c in early if (n, c) not in rows_before]
    skipped += [n for n, _ in grid.comments]
    ways = tuple((n, way) for n, cells in grid.lines if (way := _way(cells)) is not None)
    beside = [c for n, c in (*early, *grid.comments) if (n, c) not in rows_before]
    beside += [cells for _, cells in body if _is_sentence(cells)]
    said = frozenset(frame_said(" ".join(cells)) for cells in beside)
    return Layout(kind, grid, headings, told, lines, tuple(body), tuple(sorted(skipped)),
                  rows_before, ways if kind == "readings" else (), said)  # fmt: skip


def _is_sentence(cells: tuple[str, ...]) -> bool:
    """Whether a line is words and no row."""
    filled = [c for c in cells if c]
    wordy = len(filled) == 1 or (bool(filled) and len(filled[0].split()) > 3)
    return wordy and not any(map(is_number, filled))


def _way(cells: tuple[str, ...]) -> str | None:
    """The direction that a line names and nothing else; empty for another lone word."""
    filled = [c for c in cells if c]
    if len(filled) != 1 or is_number(filled[0]):
        return None
    return title_way(filled[0])


def _meanings(cells: tuple[str, ...], kind: str) -> set[str]:
    return {heading_of(cell, kind).meaning for cell in cells} - {UNKNOWN}


def _heading_line(grid: Grid, kind: str) -> int | None:
    """The line that names most of what is needed; the first of equals."""
    best, most = None, 0
    for at, (_, cells) in enumerate(grid.lines[:_LOOKED_THROUGH]):
        if any(is_number(cell) for cell in cells):
            continue
        words = _joined(cells, kind, []) if grid.separator == " " else cells
        meanings = _meanings(words, kind)
        needed = sum(bool(meanings & some) for some in NEEDED[kind])
        score = 10 * needed + len(meanings - {IGNORED})
        enough = len([c for c in words if c]) > 1 or grid.width == 1
        if enough and score > most:
            best, most = at, score
    if best is None and len(grid.lines) > 1:
        first = grid.lines[0][1]
        filled = [c for c in first if c]
        if (
            len(filled) > 1
            and not any(is_number(c) or direction(c) for c in filled)
            and any(is_number(c) for c in grid.lines[1][1])
        ):
            return 0
    return best


def _heads(cells: tuple[str, ...], kind: str) -> bool:
    """Whether a line stands over a heading: several cells, each of which says something."""
    filled = [c for c in cells if c]
    return (
        len(filled) > 1
        and not any(is_number(c) or _SERIAL.search(c) for c in filled)
        and all(names_something(c, kind) for c in filled)
    )


def _continues(cells: tuple[str, ...], kind: str) -> bool:
    """Whether a line goes on with a heading: units and the like and no number."""
    filled = [c.strip("()[] ") for c in cells if c]
    lone = len(filled) == 1 < len(cells) and bool(re.search(r"\d", filled[0]))
    return (
        bool(filled)
        and not any(is_number(c) for c in filled)
        and (not lone or is_unit(filled[0], kind))  # words with a figure, under one column only
        and all(
            names_something(c, kind) and not (direction(c) and len(filled) == 1) for c in filled
        )
    )


def _merged(lines: tuple[tuple[str, ...], ...], width: int) -> tuple[str, ...]:
    """The heading of each column; a cell that spans several heads them all."""
    texts = [""] * width
    for at, cells in enumerate(lines):
        row = list(cells) + [""] * (width - len(cells))
        if at < len(lines) - 1 and sum(bool(c) for c in row) > 1:
            under = list(lines[at + 1]) + [""] * (width - len(lines[at + 1]))
            for i in range(1, width):
                if not row[i] and row[i - 1] and under[i]:
                    row[i] = row[i - 1]
        texts = [f"{text} {cell}".strip() for text, cell in zip(texts, row, strict=True)]
    return tuple(texts)


def _turned(grid: Grid, kind: str) -> Grid | None:
    """The table with its rows and columns exchanged, if its headings stand down the left side."""
    if not 2 <= len(grid.lines) <= 6 or grid.separator == " ":
        return None
    names = tuple(cells[0] for _, cells in grid.lines)
    if any(is_number(name) for name in names):
        return None
    meanings = _meanings(names, kind)
    enough = all(meanings & some for some in NEEDED[kind])
    return grid.turned() if enough else None


def _headed_by_comment(grid: Grid, kind: str) -> Layout | None:
    """The heading in a comment right above the rows, as numerical programs write it."""
    if not grid.lines:
        return None
    first = grid.lines[0][0]
    for number, cells in reversed(grid.comments):
        if number > first:
            continue
        words = (re.sub(r"^\s*(?:#|//|%|!)+\s*", "", cells[0]), *cells[1:])
        if not words[0]:  # "#" may itself be the heading of a column that counts
            counting = len(cells) == grid.width
            words = ("#", *words[1:]) if counting else words[1:]
        if grid.separator == " ":
            words = _joined(tuple(w for w in words if w), kind, [c for _, c in grid.lines])
        meanings = _meanings(words, kind)
        if all(meanings & some for some in NEEDED[kind]) and not any(map(is_number, words)):
            return _layout(grid, kind, (words[: grid.width],), 0)
    return None


def _joined(words: tuple[str, ...], kind: str, rows: list[tuple[str, ...]]) -> tuple[str, ...]:
    """Words of a heading separated by spaces, joined to one cell for each column."""
    usual = max((len(cells) for cells in rows), default=0)
    if rows and len(words) == usual:
        return words
    cells: list[str] = []
    meaning = UNKNOWN
    for word in words:
        found = heading_of(word, kind).meaning
        opens = _opens(word)
        band = ("band_deg", "least_deg", "most_deg")
        same = found == meaning or (meaning in band and found in band and meaning == "band_deg")
        known = meaning != UNKNOWN
        if cells and (not known or (found == UNKNOWN and not opens) or (found != UNKNOWN and same)):
            cells[-1] += " " + word
            joined = heading_of(cells[-1], kind).meaning
            meaning = joined if joined != UNKNOWN else meaning
        else:
            cells.append(word)
            meaning = found
    return tuple(cells)


def _opens(word: str) -> bool:
    return bool(
        re.match(r"(distributor|crank|engine|dist|flywheel|rising|falling)\b", word.lower())
    )
