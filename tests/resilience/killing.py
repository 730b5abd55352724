"""Kills :mod:`tests.resilience.kill_child` and looks at what is on the disk afterwards."""

from __future__ import annotations

import hashlib
import multiprocessing
import multiprocessing.context
import os
import random
import re
import shutil
import signal
import subprocess
import time
from collections import Counter
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import NamedTuple

from bobweight.app.store.journal import leftovers, read_leftover
from bobweight.app.store.session import Settings
from bobweight.core.design.tray_file import read_tray
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.file import read_docket, write_docket
from bobweight.core.problems import BobweightError
from bobweight.core.record import put

LOST_AT_MOST_S = 2.0
CALLS = (
    "open,openat,write,pwrite64,writev,fsync,fdatasync,ftruncate,rename,renameat,renameat2,"
    "unlink,unlinkat,chmod,fchmod,fchmodat,mkdir,mkdirat,copy_file_range,sendfile,link,linkat,"
    "close,flock,fcntl,stat,newfstatat,statx,access,faccessat2"
)


@dataclass
class Found:
    """What was found on the disk after one kill; ``wrong`` is empty if all is well."""

    wrong: list[str] = field(default_factory=list)
    lost_s: float = 0.0


def environment(home: Path) -> dict[str, str]:
    return os.environ | {
        "BOBWEIGHT_HOME": str(home / "home"), "QT_QPA_PLATFORM": "offscreen",
        "PYTHONHASHSEED": "0", "PYTHONDONTWRITEBYTECODE": "1",
        "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
    }  # fmt: skip


@cache
def _forking() -> multiprocessing.context.ForkServerContext:
    """Programs are begun by a process that has read all modules and made nothing of Qt yet: what
    is looked at is the disk, not the loading."""
    made = multiprocessing.get_context("forkserver")
    made.set_forkserver_preload(["tests.resilience.kill_child"])
    return made


def _work_from_fork(home: Path, seed: int) -> None:
    os.environ.update(environment(home))
    with (home / "said").open("wb") as said:
        os.dup2(said.fileno(), 1)
    from tests.resilience.kill_child import work_at_random

    work_at_random(home, seed)


def kill_at_random(home: Path, seed: int, longest_s: float = 3.0) -> Found:
    """Let the program work for a random time, kill it, and look."""
    home.mkdir(parents=True, exist_ok=True)
    program = _forking().Process(target=_work_from_fork, args=(home, seed), daemon=True)
    program.start()
    while not (home / "said").exists() or b"READY" not in (home / "said").read_bytes():
        if not program.is_alive():
            return Found(["the program did not begin"])
        time.sleep(0.02)
    time.sleep(random.Random(seed).uniform(0.0, longest_s))
    killed = time.monotonic()
    program.kill()
    program.join()
    return look(home, killed)


def look(home: Path, killed: float) -> Found:
    """Hold what is on the disk against what the program had said."""
    found = Found()
    lines = (home / "said").read_text("utf-8", errors="replace").splitlines()
    saving: dict[str, set[int]] = {}
    saved: dict[str, int] = {}
    edits: list[tuple[int, float]] = []
    turn = killed
    kept = 0
    for line in lines:
        if match := re.fullmatch(r"SAVING (\S+) (\d+)", line):
            saving.setdefault(match[1], set()).add(int(match[2]))
        elif match := re.fullmatch(r"SAVED (\S+) (\d+)", line):
            saved[match[1]] = int(match[2])
            kept = max(kept, int(match[2]))
        elif match := re.fullmatch(r"EDIT (\d+) ([\d.]+)", line):
            edits.append((int(match[1]), float(match[2])))
        elif match := re.fullmatch(r"TURN ([\d.]+)", line):
            turn = float(match[1])
        elif match := re.fullmatch(r"KEPT (\d+)", line):
            kept = max(kept, int(match[1]))
    newest = max((_check_file(home / name, saving[name], saved.get(name), found)
                  for name in saving), default=0)  # fmt: skip
    for path in leftovers(home / "home"):
        left = read_leftover(path)
        if left.docket is not None and left.docket.particulars.title:
            newest = max(newest, int(left.docket.particulars.title))
    # counted from the last sign of life: a machine that is full may not let the program run at all
    due = [number for number, at in edits if turn - at > LOST_AT_MOST_S]
    if newest < max([kept, *due], default=0):
        found.wrong.append(f"state {max([kept, *due])} was due, {newest} is there")
    later = [at for number, at in edits if number > newest]
    found.lost_s = max(0.0, turn - min(later)) if later else 0.0
    _check_rest(home, found)
    return found


def _check_file(path: Path, saving: set[int], saved: int | None, found: Found) -> int:
    if not path.exists():
        if saved is not None:
            found.wrong.append(f"{path.name} was saved and is not there")
        return 0
    try:
        docket = read_docket(path)
    except BobweightError as error:
        found.wrong.append(f"{path.name}: {error}")
        return 0
    number = int(docket.particulars.title or 0)
    if number not in saving or number < (saved or 0):
        found.wrong.append(f"{path.name} holds {number}; saved were {sorted(saving)[-3:]}, {saved}")
    return number


def _check_rest(home: Path, found: Found) -> None:
    """Photographs are whole (their names say what is in them), tray and settings can be read."""
    for folder in (*home.glob("*.photos"), home / "home" / "photographs"):
        for picture in folder.glob("*.png"):
            digest = hashlib.sha256(picture.read_bytes()).hexdigest()[:8]
            if digest not in picture.name:
                found.wrong.append(f"{picture.name} is not whole")
    for name in home.glob("*.docket"):
        try:
            docket = read_docket(name)
        except BobweightError:
            continue  # told already
        folders = (name.with_suffix(".photos"), home / "home" / "photographs")
        for photograph in docket.photographs:
            beside = [folder for folder in home.glob("*.photos")]
            if not any((f / photograph.file).exists() for f in (*folders, *beside)):
                found.wrong.append(f"{name.name}: {photograph.file} is not there")
    tray = home / "home" / "springs.tray"
    if tray.exists():
        try:
            read_tray(tray)
        except BobweightError as error:
            found.wrong.append(f"tray: {error}")
    there = (home / "home").exists()
    if there and Settings(home / "home").theme not in ("light", "dark", "system"):
        found.wrong.append("settings cannot be read")


# Each system call in turn ----------------------------------------------------------------------


def prepare(home: Path) -> None:
    """A docket to be saved over."""
    shutil.rmtree(home, ignore_errors=True)
    home.mkdir(parents=True)
    write_docket(put(Docket(), ("particulars", "title"), "1"), home / "old.docket")


class Call(NamedTuple):
    """A system call of a save: its name, and the how-manieth of that name since the program began
    (which is how strace counts them)."""

    name: str
    nth: int


def calls_of_a_save(home: Path) -> list[Call]:
    """The system calls between the marks."""
    prepare(home)
    _traced(home, [])
    found, seen, within = [], Counter[str](), False
    for line in (home / "trace").read_text("utf-8", errors="replace").splitlines():
        name = line.split("(")[0]
        seen[name] += 1
        if "mark-of-the-kill-study" in line:
            within = not within
        elif within:
            found.append(Call(name, seen[name]))
    return found


def hit(home: Path, call: Call, how: str) -> tuple[Found, str]:
    """Let that call be the last (``signal=KILL``) or fail (``error=ENOSPC``); what was found, and
    the call as it was hit."""
    prepare(home)
    status = _traced(home, ["-e", f"inject={call.name}:{how}:when={call.nth}"])
    lines = (home / "trace").read_text("utf-8", errors="replace").splitlines()
    said = (home / "said").read_text("utf-8", errors="replace")
    found = look(home, 0.0)
    if read_quietly(home / "old.docket") is None:
        found.wrong.append("old.docket cannot be read")
    if "signal" in how:
        struck = lines[-2] if lines[-1:] == ["+++ killed by SIGKILL +++"] else ""
    else:
        struck = next((x for x in lines if "INJECTED" in x), "")
        if status != 0 or "DONE" not in said:
            found.wrong.append(f"the program ended with {status}")
        elif said.count("REFUSED") != len(re.findall(r"TOLD \S", said)):
            found.wrong.append("a save was refused and nothing said")
    if "mark-of-the-kill-study" not in "".join(lines) or not struck.startswith(call.name):
        found.wrong.append("the call was not hit")
    return found, struck[:120]


def read_quietly(path: Path) -> Docket | None:
    try:
        return read_docket(path)
    except BobweightError:
        return None


def _traced(home: Path, more: list[str]) -> int:
    """Let a program save under strace; how it ended.

    strace takes hold of a program that was forked with all modules read and waits for a signal:
    reading them anew for every call would take most of the time, and of the calls.
    """
    program = _forking().Process(target=_save_from_fork, args=(home,), daemon=True)
    program.start()
    while not (home / "said").exists() or b"WAITS" not in (home / "said").read_bytes():
        time.sleep(0.005)
    words = ["strace", "-p", str(program.pid), "-o", str(home / "trace"), "-e", f"trace={CALLS}"]
    with subprocess.Popen([*words, *more], stderr=subprocess.PIPE, text=True) as strace:
        while "attached" not in (line := strace.stderr.readline()):
            if not line:
                raise OSError("strace cannot be attached")
        os.kill(program.pid, signal.SIGUSR1)
        program.join(120)
        if program.is_alive():
            program.kill()
            program.join()
    return program.exitcode


def _save_from_fork(home: Path) -> None:
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGUSR1})
    os.environ.update(environment(home))
    with (home / "said").open("wb") as said, (home / "errors").open("wb") as errors:
        os.dup2(said.fileno(), 1)
        os.dup2(errors.fileno(), 2)
    from tests.resilience.kill_child import save_once

    os.write(1, b"WAITS\n")
    signal.sigwait({signal.SIGUSR1})
    save_once(home)
