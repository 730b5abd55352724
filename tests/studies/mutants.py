"""Is a wrong token in the core noticed? One token changed at a time, and its quick tests run.

python -m tests.studies.mutants [COUNT]       a sample of COUNT over the rooms below, from a seed
python -m tests.studies.mutants again [ROOM…] those that ``RESULTS.md`` lists as not noticed
python -m tests.studies.mutants since COMMIT [FILE…]  those on lines that are new since then

First every test of these rooms is run once: what it takes and which functions it calls. A mutant is
then tried in a forked process, with everything imported, by the quick tests that call its function,
until one fails; what runs on import is imported anew. No file is changed. What is of no consequence
stands with its reason in ``mutants_alike.py``. ``MINUTES`` ends a run early, ``SEED`` draws another
sample, ``SECONDS`` gives every mutant more or fewer of its tests, ``FOLDERS`` are other folders of
tests to draw them from. A run that was ended goes on where it was.
"""

from __future__ import annotations

import ast
import gc
import importlib.machinery
import json
import os
import random
import re
import resource
import signal
import subprocess
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from types import CodeType, FrameType, FunctionType
from typing import Any

import hypothesis
import pytest
from _pytest.runner import runtestprotocol

from tests.studies.mutants_alike import ALIKE
from tests.studies.results import commit, rows_of, section, share, table, text_of

ROOT = Path(__file__).parents[2]
ROOMS = {
    "mechanics": ("mechanics", "figure", "design"), "judgement": ("judgement",),
    "units.py": ("record", "mechanics"),
    "docket": ("docket", "record"), "statistics": ("statistics",), "design": ("design",),
}  # fmt: skip
"""What is changed, and the folders of tests that are its own."""
_FOLDERS = "statistics record docket mechanics judgement figure design"
FOLDERS = os.environ.get("FOLDERS", _FOLDERS).split()
COUNT, QUICK_S, MOST_TESTS, MOST_BYTES = 600, 1.0, 60, 6 << 30
MOST_S = float(os.environ.get("SECONDS", "8"))
_KEPT = ROOT / f"build/mutants-watched-{commit()}.json"

_COMPARED = {
    ast.Lt: ("<", "<="), ast.LtE: ("<=", "<"), ast.Gt: (">", ">="), ast.GtE: (">=", ">"),
    ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.Is: ("is", "is not"),
    ast.IsNot: ("is not", "is"), ast.In: ("in", "not in"), ast.NotIn: ("not in", "in"),
}  # fmt: skip
_REACHED = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
    ast.Pow: ("**", "*"), ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "/"), ast.BitAnd: ("&", "|"),
    ast.BitOr: ("|", "&"), ast.And: ("and", "or"), ast.Or: ("or", "and"),
}  # fmt: skip
_NAMES = {
    "min": "max", "max": "min", "any": "all", "all": "any", "minimum": "maximum",
    "maximum": "minimum", "argmin": "argmax", "argmax": "argmin", "floor": "ceil", "ceil": "floor",
    "sin": "cos", "cos": "sin",
}  # fmt: skip


Key = tuple[str, str, str, str]
"""File, function, line and change: what stays the same when lines move."""


def _room(file: str) -> str:
    return file.split("/")[1]


@dataclass(frozen=True)
class Mutant:
    """One token changed. ``within`` is the function, empty for what runs on import."""

    file: str
    line: int
    start: int
    end: int
    old: str
    new: str
    within: str
    first: int
    text: str

    @property
    def room(self) -> str:
        return _room(self.file)

    @property
    def key(self) -> Key:
        return self.file, self.within, self.text, f"{self.old} → {self.new}"

    def applied(self) -> bytes:
        source = (ROOT / self.file).read_bytes()
        return source[: self.start] + self.new.encode() + source[self.end :]


class _Finder(ast.NodeVisitor):
    """Every single token of a module that can be changed into another of its kind."""

    def __init__(self, file: Path) -> None:
        self.file = str(file.relative_to(ROOT))
        self.source = file.read_bytes()
        self.begins = [0]
        for line in self.source.splitlines(keepends=True):
            self.begins.append(self.begins[-1] + len(line))
        self.within: list[str] = []
        self.first = 0  # line of the outermost function
        self.found: list[Mutant] = []
        self.visit(ast.parse(self.source))

    def _at(self, line: int, column: int) -> int:
        return self.begins[line - 1] + column

    def _note(self, start: int, end: int, new: str) -> None:
        line = self.source.count(b"\n", 0, start) + 1
        text = self.source[self.begins[line - 1] : self.begins[line]].decode().strip()
        old = self.source[start:end].decode()
        self.found.append(
            Mutant(self.file, line, start, end, old, new, ".".join(self.within), self.first, text)
        )

    def _between(self, left: ast.AST, right: ast.AST, old: str, new: str) -> None:
        begin, end = (
            self._at(left.end_lineno, left.end_col_offset),
            self._at(right.lineno, right.col_offset),
        )
        found = re.search(re.escape(old).replace(r"\ ", r"\s+"), self.source[begin:end].decode())
        if found:
            lead = len(self.source[begin:end].decode()[: found.start()].encode())
            self._note(begin + lead, begin + lead + len(found.group().encode()), new)

    def _function(self, node: ast.FunctionDef) -> None:
        self.visit(node.args)
        for one in node.decorator_list:
            self.visit(one)
        if not self.within:
            self.first = min([node.lineno, *(one.lineno for one in node.decorator_list)])
        self.within.append(node.name)
        for one in node.body:
            self.visit(one)
        self.within.pop()

    visit_FunctionDef = visit_AsyncFunctionDef = _function

    def visit_arguments(self, node: ast.arguments) -> None:
        for one in [*node.defaults, *node.kw_defaults]:
            if one is not None:
                self.visit(one)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        typed = isinstance(node.op, ast.BitOr) and not self.within  # a union of types
        if type(node.op) in _REACHED and not typed and not _is_text(node):
            self._between(node.left, node.right, *_REACHED[type(node.op)])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for left, right in zip(node.values, node.values[1:], strict=False):
            self._between(left, right, *_REACHED[type(node.op)])
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        for left, op, right in zip(
            [node.left, *node.comparators], node.ops, node.comparators, strict=False
        ):
            self._between(left, right, *_COMPARED[type(op)])
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        old, new = _REACHED.get(type(node.op), ("", ""))
        if old:
            self._between(node.target, node.value, old + "=", new + "=")
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        start = self._at(node.lineno, node.col_offset)
        end = self._at(node.operand.lineno, node.operand.col_offset)
        if not isinstance(node.op, ast.UAdd) and self.source[start:end].strip() in (
            b"-", b"~", b"not",
        ):  # fmt: skip
            self._note(start, end, "")
        self.generic_visit(node)

    def visit_Call(self, node: ast.Call) -> None:
        called = node.func
        name = getattr(called, "attr", getattr(called, "id", ""))
        if name in _NAMES:
            end = self._at(called.end_lineno, called.end_col_offset)
            self._note(end - len(name), end, _NAMES[name])
        self.generic_visit(node)

    def visit_Break(self, node: ast.Break) -> None:
        start = self._at(node.lineno, node.col_offset)
        self._note(start, start + 5, "continue")

    def visit_Continue(self, node: ast.Continue) -> None:
        start = self._at(node.lineno, node.col_offset)
        self._note(start, start + 8, "break")

    def visit_Constant(self, node: ast.Constant) -> None:
        if isinstance(node.value, bool):
            new = str(not node.value)
        elif isinstance(node.value, int):
            new = str(node.value + 1)
        elif isinstance(node.value, float):
            new = repr(node.value * 2 if node.value else 1.0)
        else:
            return
        self._note(
            self._at(node.lineno, node.col_offset), self._at(node.end_lineno, node.end_col_offset),
            new,
        )  # fmt: skip

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """Columns inside are not told before Python 3.12."""


def _is_text(node: ast.BinOp) -> bool:
    return any(
        isinstance(n, ast.JoinedStr) or (isinstance(n, ast.Constant) and isinstance(n.value, str))
        for n in ast.walk(node)
    )


def mutants() -> list[Mutant]:
    """Every mutant of the rooms."""
    files = sorted(
        path
        for room in ROOMS
        for path in (
            [ROOT / "core" / room] if "." in room else (ROOT / "core" / room).rglob("*.py")
        )
    )
    found: dict[tuple[str, int, str], Mutant] = {}
    for file in files:
        for one in _Finder(file).found:
            found.setdefault((one.file, one.start, one.new), one)
    return list(found.values())


def _new_lines(since: str, files: Sequence[str]) -> set[tuple[str, int]]:
    """File and line of what was written since a commit."""
    words = ["git", "diff", "-U0", "--no-color", since, "--", *(files or ["core"])]
    told = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    found, file = set(), ""
    for line in told.splitlines():
        file = line[6:] if line.startswith("+++ b/") else file
        if hunk := re.match(r"@@ \S+ \+(\d+)(?:,(\d+))? @@", line):
            first, count = int(hunk[1]), int(hunk[2] or 1)
            found |= {(file, number) for number in range(first, first + count)}
    return found


def _compiles(mutant: Mutant) -> bool:
    try:
        compile(mutant.applied(), mutant.file, "exec")
    except (SyntaxError, ValueError):
        return False
    return True


class Slow(BaseException):
    """A test that is not quick."""


_NOT_LOADED = 71
"""How a process ends that did not find the function it was to change: nothing was tried."""

Test = tuple[float, list[str]]
"""Seconds of a quick test, and the functions that it calls, as ``file:line``."""


def _function(code: CodeType) -> str:
    return f"{Path(code.co_filename).relative_to(ROOT)}:{code.co_firstlineno}"


def _watch(items: Sequence[pytest.Item], kept: Path) -> int:
    """Run every test once; what it takes and which functions of the core it calls."""
    core = str(ROOT / "core") + "/"
    called: set[CodeType] = set()

    def enter(frame: FrameType, event: str, _: Any) -> None:
        if frame.f_code.co_filename.startswith(core):
            called.add(frame.f_code)

    def stop(*_: Any) -> None:
        raise Slow

    signal.signal(signal.SIGVTALRM, stop)
    found: dict[str, Test] = {}
    for item, after in zip(items, [*items[1:], None], strict=True):
        called.clear()
        begun = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, QUICK_S)
        sys.settrace(enter)
        reports = runtestprotocol(item, log=False, nextitem=after)
        sys.settrace(None)
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        if len(reports) == 3 and all(r.passed for r in reports):
            found[item.nodeid] = time.process_time() - begun, sorted({*map(_function, called)})
    kept.write_text(json.dumps(found))
    return 0


def _changed(mutant: Mutant) -> int:
    """Put the changed function in the place of the loaded one; how many were replaced."""
    path = str(ROOT / mutant.file)
    new: dict[tuple[str, int], CodeType] = {}
    left = [compile(mutant.applied(), path, "exec", dont_inherit=True)]
    while left:
        code = left.pop()
        new[code.co_qualname, code.co_firstlineno] = code
        left += [part for part in code.co_consts if isinstance(part, CodeType)]
    replaced = 0
    loaded = [
        one for one in gc.get_objects()
        if isinstance(one, FunctionType) and one.__code__.co_filename == path
    ]  # fmt: skip
    for one in loaded:
        key = one.__code__.co_qualname, one.__code__.co_firstlineno
        if key in new:
            one.__code__ = new[key]
            replaced += one.__code__.co_firstlineno == mutant.first
    return replaced


def _run_pytest(arguments: list[str], plugins: list[Any]) -> int:
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    return int(pytest.main(
        ["-c", os.devnull, "--rootdir", str(ROOT), "-p", "no:cacheprovider", "-W", "error",
         "-W", "ignore::pytest.PytestUnknownMarkWarning", "-q", "--tb=no", "-s", *arguments],
        plugins=plugins,
    ))  # fmt: skip


def _forked(work: Callable[[], int], most_s: float, quiet: bool = True) -> int:
    """What a forked process answers; minus the signal that ended it."""
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        code = 70
        try:
            limit = int(most_s) + 1
            resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 2))
            resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
            if quiet:
                nowhere = os.open(os.devnull, os.O_WRONLY)
                os.dup2(nowhere, 1)
                os.dup2(nowhere, 2)
            code = work()
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    return os.waitstatus_to_exitcode(status)


class Campaign:
    """Mutants tried one after another, and what became of each."""

    def __init__(self, chosen: list[Mutant], minutes: float, log: Path) -> None:
        self.until = time.monotonic() + 60 * minutes
        self.chosen, self.log = chosen, log
        self.tests: dict[str, Test] = {}

    def run(self) -> dict[Mutant, str]:
        """What was tried: ``killed``, ``survived``, ``no test`` or ``not loaded``."""
        self.log.touch()
        lines = [json.loads(line) for line in self.log.read_text().splitlines()]
        self.done = {i for i, _ in lines}  # by a run that was ended early
        folders = [str(ROOT / "tests" / folder) for folder in FOLDERS]
        _forked(lambda: _run_pytest(folders, [self]), 1e6, quiet=False)
        self._learn()
        for one in self.chosen:  # what runs on import is imported anew
            if not one.within:
                self._try(one, lambda one=one: self._import_and_run(one))
        found = [json.loads(line) for line in self.log.read_text().splitlines()]
        return {self.chosen[i]: what for i, what in found}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Called by pytest when everything is collected: functions are changed as they are."""
        if not _KEPT.exists():
            _forked(lambda: _watch(session.items, _KEPT), 3600)
        self._learn()
        print(f"{len(self.tests)} quick tests of {len(session.items)}", flush=True)
        items = {item.nodeid: item for item in session.items}
        gc.unfreeze()  # what the tests' own set-up froze is not told by gc.get_objects
        for one in self.chosen:
            if one.within:
                self._try(one, lambda one=one: self._run_items(one, items))
        return True

    def _learn(self) -> None:
        self.tests = {t: (s, calls) for t, (s, calls) in json.loads(_KEPT.read_text()).items()}
        self.of_file: dict[str, set[str]] = defaultdict(set)
        self.of_function: dict[str, set[str]] = defaultdict(set)
        for test, (_, calls) in self.tests.items():
            for call in calls:
                self.of_function[call].add(test)
                self.of_file[call.rpartition(":")[0]].add(test)

    def _try(self, mutant: Mutant, work: Callable[[], int]) -> None:
        if time.monotonic() > self.until or self.chosen.index(mutant) in self.done:
            return
        found = "no test"
        if self._chosen_tests(mutant):
            ended = _forked(work, 3 * MOST_S)
            found = {0: "survived", _NOT_LOADED: "not loaded"}.get(ended, "killed")
        if found != "killed":
            print(f"{found} {mutant.file}:{mutant.line} {mutant.old!r} → {mutant.new!r}  "
                  f"{mutant.text}", flush=True)  # fmt: skip
        with self.log.open("a") as log:
            log.write(json.dumps([self.chosen.index(mutant), found]) + "\n")

    def _chosen_tests(self, mutant: Mutant) -> list[str]:
        """Its own folder's first, the quickest first, as many as there is time for."""
        own = tuple(f"tests/{folder}/" for folder in ROOMS[mutant.room])
        touching = self.of_file[mutant.file]
        if mutant.within:
            able = self.of_function[f"{mutant.file}:{mutant.first}"]
        else:
            able = touching | {t for t in self.tests if t.startswith(own)}
        ranked = sorted(
            able, key=lambda t: (t not in touching, not t.startswith(own), self.tests[t][0])
        )
        total, chosen = 0.0, []
        for test in ranked[:MOST_TESTS]:
            total += self.tests[test][0]
            if total > MOST_S:
                break
            chosen.append(test)
        return chosen

    def _run_items(self, mutant: Mutant, items: dict[str, pytest.Item]) -> int:
        if not _changed(mutant):
            return _NOT_LOADED
        chosen = [items[test] for test in self._chosen_tests(mutant)]
        for item, after in zip(chosen, [*chosen[1:], None], strict=True):
            if any(r.failed for r in runtestprotocol(item, log=False, nextitem=after)):
                return 1
        return 0

    def _import_and_run(self, mutant: Mutant) -> int:
        path, source = str(ROOT / mutant.file), mutant.applied()
        read = importlib.machinery.SourceFileLoader.get_code

        def get_code(loader: Any, name: str) -> Any:
            if loader.path == path:
                return compile(source, path, "exec", dont_inherit=True)
            return read(loader, name)

        importlib.machinery.SourceFileLoader.get_code = get_code
        return _run_pytest(["-x", *self._chosen_tests(mutant)], [])


def main(words: list[str]) -> int:
    os.nice(1)
    for library in ("numpy", "scipy.stats", "scipy.optimize", "scipy.interpolate", "jsonschema"):
        importlib.import_module(library)
    hypothesis.settings.register_profile("mutants", derandomize=True, database=None, deadline=None)
    hypothesis.settings.load_profile("mutants")
    seed, minutes = int(os.environ.get("SEED", "1")), float(os.environ.get("MINUTES", "600"))
    every = mutants()
    _KEPT.parent.mkdir(exist_ok=True)
    new = words[:1] == ["since"]
    lines = _KEPT.with_name(f"mutants-{'new-' * new}{seed}-{commit()}.lines")
    if words[:1] == ["again"]:
        lines.unlink(missing_ok=True)
        counts, left = _told()
        for key in set(left) - {m.key for m in every}:  # the code is another since
            counts[_room(key[0])]["mutants"] -= left.pop(key)
        chosen = [m for m in every if left[m.key] and m.room in (words[1:] or ROOMS)]
        tried = Campaign(chosen, minutes, lines).run()
        still = Counter(m.key for m in chosen if tried.get(m) != "killed")
        for key in {m.key for m in chosen}:  # which one on a line it was is not told
            noticed = max(left[key] - still[key], 0)
            left[key] -= noticed
            counts[_room(key[0])]["noticed"] += noticed
    else:
        if new:
            on = _new_lines(words[1], words[2:])
            every = [m for m in every if (m.file, m.line) in on]
        drawn = random.Random(seed).sample(every, len(every))
        count = len(every) if new else int(words[0]) if words else COUNT
        chosen = list(islice(filter(_compiles, drawn), count))
        tried = Campaign(chosen, minutes, lines).run()
        left = Counter(m.key for m, found in tried.items() if found != "killed")
        counts = defaultdict(Counter)
        for one, found in tried.items():
            counts[one.room]["mutants"] += 1
            counts[one.room]["noticed"] += found == "killed"
    report(counts, left, len(every), seed, new)
    return 0


Counts = dict[str, Counter[str]]
"""By room: how many mutants were tried, and how many noticed."""
_LINE = re.compile(r"- `(\S+)` (\S*): `(.+?)` → `(.+?)` in `(.+?)`(?: – .*)?")


def _told() -> tuple[Counts, Counter[Key]]:
    """What the section of ``RESULTS.md`` says: the counts, and what was not noticed."""
    rows = rows_of("mutants")
    counts = {
        r: Counter(mutants=int(rows[r][1]), noticed=int(rows[r][2])) for r in ROOMS if r in rows
    }
    found = _LINE.findall(text_of("mutants"))
    left = Counter(
        (file, within, text, f"{old} → {'' if new == 'nothing' else new}")
        for file, within, old, new, text in found
    )
    return counts, left


def report(counts: Counts, left: Counter[Key], of: int, seed: int, new: bool) -> None:
    """The section of ``RESULTS.md``: what nothing noticed, and of it what is of no consequence."""
    where = "lines that were new" if new else ", ".join(ROOMS)
    with section(
        *(("mutants-new", "A wrong token in new lines of the core") if new
          else ("mutants", "A wrong token in the core")), str(seed),
        f"{sum(c['mutants'] for c in counts.values())} single tokens changed, of {of} in "
        f"{where}; each tried by quick tests that call its function (at most "
        f"{QUICK_S:g} s each, {MOST_S:g} s and {MOST_TESTS} of them), its own folder's first.",
    ) as out:  # fmt: skip
        rows = []
        for room in (*sorted(counts), "all"):
            of_room = [key for key in left.elements() if room in ("all", _room(key[0]))]
            alike = sum(key in ALIKE for key in of_room)
            tried, noticed = (
                sum(c[what] for r, c in counts.items() if room in ("all", r))
                for what in ("mutants", "noticed")
            )
            rows.append((room, tried, noticed, alike, len(of_room) - alike,
                         share(noticed, noticed + len(of_room) - alike)))  # fmt: skip
        heads = ("room", "mutants", "noticed", "of no consequence", "left",
                 "noticed of those that matter")  # fmt: skip
        out(table(heads, rows))
        for title, alike in (("Left", False), ("Of no consequence", True)):
            group = sorted(key for key in left.elements() if (key in ALIKE) == alike)
            out(f"\n{title}:\n" if group else "")
            for file, within, text, change in group:
                old, _, new = change.partition(" → ")
                why = f" – {ALIKE[file, within, text, change]}" if alike else ""
                out(f"- `{file}` {within}: `{old}` → `{new or 'nothing'}` in `{text}`{why}")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
