"""Studies write what they measured into ``RESULTS.md`` themselves, one section each.

    with section("drag", title="Window and board", seeds="none") as out:
        out(table(...))

A section is replaced whole at each run, with date, commit and command; it is printed too.
"""

from __future__ import annotations

import fcntl
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path

RESULTS = Path(__file__).with_name("RESULTS.md")
_HEAD = """# What the studies measured

Written by the studies themselves (`python -m tests.studies.NAME`); nothing here is edited by hand.
A run replaces its own section. A section says at which commit it was measured.
"""
_MARK = re.compile(r"<!-- section (\S+) -->\n(.*?)<!-- end \1 -->\n", re.DOTALL)


def _git(*words: str) -> str:
    found = subprocess.run(
        ["git", *words], cwd=RESULTS.parent, capture_output=True, text=True, check=False
    )
    return found.stdout.strip()


def commit() -> str:
    """The commit that is measured, with a + where tracked files differ from it."""
    changed = _git("status", "--porcelain", "--untracked-files=no", "--", ":!*RESULTS.md")
    return (_git("rev-parse", "--short=9", "HEAD") or "unknown") + ("+" if changed else "")


def tree_of(*folders: str) -> str:
    """What names the committed contents of folders."""
    return " ".join(_git("rev-parse", f"HEAD:{folder}") for folder in folders)


def table(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Rows as a table."""
    lines = ["| " + " | ".join(heads) + " |", "|" + "---|" * len(heads)]
    return "\n".join([*lines, *("| " + " | ".join(map(str, row)) + " |" for row in rows)])


def text_of(key: str) -> str:
    """A section as it stands; empty if there is none."""
    old = RESULTS.read_text(encoding="utf-8") if RESULTS.exists() else ""
    return dict(_MARK.findall(old)).get(key, "")


def rows_of(key: str) -> dict[str, tuple[str, ...]]:
    """The rows of the table that stands in a section, by their first cell."""
    lines = [k for k in text_of(key).splitlines() if k.startswith("| ")]
    cells = (tuple(line.strip("| ").split(" | ")) for line in lines[1:])
    return {row[0]: row for row in cells}


def niced() -> None:
    """A study's process gives way to others."""
    os.nice(max(0, 10 - os.nice(0)))


def share(hits: int, count: int) -> str:
    """A share of cases in per cent, with its binomial standard error and the counts."""
    if not count:
        return "–"
    p = hits / count
    # Of 0 or all, the standard error at one half more (or less), so that it is not called exact.
    held = min(max(hits, 0.5), count - 0.5) / count
    return f"{100 * p:.0f} ± {100 * (held * (1 - held) / count) ** 0.5:.0f} % ({hits}/{count})"


@contextmanager
def section(key: str, title: str, seeds: str = "", note: str = "") -> Iterator[Callable]:
    """Collects the lines of one section and puts it into the file at the end.

    Parameters
    ----------
    key : str
        Names the section; sections stand in the order of their keys.
    title : str
    seeds : str
        Which seeds were drawn.
    note : str
        A sentence or two on what was done.
    """
    lines: list[str] = []

    def out(text: object = "") -> None:
        lines.append(str(text))
        print(text, flush=True)

    begun = commit()
    yield out
    name = Path(sys.argv[0]).stem
    name = "" if name == "__main__" else f".{name}"
    words = (Path(word).name if word.startswith("/") else word for word in sys.argv[1:])
    command = " ".join([f"python -m tests.studies{name}", *words])
    facts = f"{date.today().isoformat()}, commit {begun}, `{command}`"
    facts += f"; seeds {seeds}." if seeds else "."
    body = "\n".join([f"## {title}", "", facts, *(["", note] if note else []), "", *lines, ""])
    write(key, body)


def write(key: str, body: str) -> None:
    """Puts a section into the file in place of the one that was there."""
    with Path(str(RESULTS) + ".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        old = RESULTS.read_text(encoding="utf-8") if RESULTS.exists() else ""
        found = dict(_MARK.findall(old)) | {key: body.rstrip() + "\n\n"}
        parts = [f"<!-- section {k} -->\n{found[k]}<!-- end {k} -->\n" for k in sorted(found)]
        RESULTS.write_text(_HEAD + "\n" + "\n".join(parts), encoding="utf-8")
    Path(str(RESULTS) + ".lock").unlink(missing_ok=True)
