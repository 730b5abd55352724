"""Judgement study: does what is stated of a unit happen as often as it is stated?

Units, dockets, tables and sessions are drawn by :mod:`tests.studies.simulator`, whose truth comes
from forces as vectors. For each kind of docket sound units and units with one fault (or a likely
pair) are judged, and thirty-six kinds of misfit.

    python -m tests.studies.judgement [--quick] [--units N] [--misfits N] [--first SEED]
                                      [--kinds careful,caliper,blank] [--list] [--key NAME]
                                      [--store FILE] [--minutes M]

With a store the study can be run in pieces: what was judged before, by the same code, is not judged
again, and the section is written of all that is in it. Cases go seed by seed.
"""

from __future__ import annotations

import argparse
import pickle
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from time import monotonic, process_time
from typing import BinaryIO

import numpy as np

from tests.studies.results import niced, section, share, table, tree_of
from tests.studies.simulator.cases import NOTHING, Case, conscientious, ordinary, rng_of
from tests.studies.simulator.dockets import KINDS
from tests.studies.simulator.misfits import MISFITS, is_false, misfit_case
from tests.studies.simulator.opinion import SAID_INSIDE, Opinion, inside_after, opinion_of
from tests.studies.simulator.sessions import read, with_session

Task = tuple[str, str, str, int, bool]
"""Group, kind of docket, name of the misfit, seed, whether the next reading is taken."""

SURE = 0.95  # a point is decided at this chance, either way
STATED = 0.9
EDGES = (0.0, 0.05, 0.2, 0.4, 0.6, 0.8, 0.9, 0.95, 0.99, 1.0001)
GOALS = {
    "right fault first": ("≥ 88 %", "≥ 85 %", "≥ 75 %"),
    "right fault in two": ("≥ 96 %", "≥ 95 %", "≥ 90 %"),
    "sound unit accused": ("≤ 5 %", "≤ 6 %", "≤ 10 %"),
    "sound unit accused above 90 %": ("", "", ""),
    "told to alter while truly inside": ("≤ 3 %", "≤ 4 %", "≤ 6 %"),
    "sound unit, 20 ordinary readings: inside or looks inside": ("≥ 85 %", "≥ 80 %", "≥ 70 %"),
    "the same, conscientiously read": ("", "", ""),
    "the same: inside": ("", "", ""),
    "unit truly outside: said inside or looks inside": ("", "", ""),
    "points decided": ("≥ 70 %", "≥ 65 %", "≥ 55 %"),
    "wrong of those": ("≤ 2 %", "≤ 3 %", "≤ 4 %"),
    "alterations stated at 0.9 or more: true": ("≥ 90 %", "≥ 85 %", "–"),
}


@dataclass(frozen=True)
class Scored:
    """One judged case, without the docket."""

    group: str
    kind: str
    name: str
    seed: int
    true: str
    inside: dict
    said: Opinion
    false: bool
    after: bool | None
    changed: bool | None
    seconds: float

    @property
    def all_inside(self) -> bool:
        """The truth of the whole."""
        return all(self.inside.values())


def _case(group: str, kind: str, name: str, seed: int) -> Case:
    if group == "misfit":
        return misfit_case(name, kind, seed)
    if group == "conscientious":
        return conscientious(kind, seed)
    return ordinary(kind, seed, "any" if group == "faulty" else "")


def _changed(case: Case, said: Opinion) -> bool:
    """Whether the stated next reading, taken, changes what is decided or what is first."""
    n = said.next
    rng = rng_of("next", case.kind, case.seed, case.name)
    one = replace(case.manner, repeats=1, pumped_kpa=())
    taken = read(rng, case.unit, case.bench, one, [(n.speed_rpm, n.way, n.kpa)])
    before = case.docket.sessions[-1].readings
    again = opinion_of(with_session(case.docket, case.unit, before + taken, case.manner))
    return (again.first, again.decision) != (said.first, said.decision)


def judged(task: Task) -> Scored:
    group, kind, name, seed, follow = task
    case = _case(group, kind, name, seed)
    begun = process_time()
    said = opinion_of(case.docket)
    seconds = process_time() - begun
    after = changed = None
    if said.steps and group != "misfit":
        after = inside_after(rng_of("hand", kind, seed, group), case, said.steps)
    if follow and said.next is not None:
        changed = _changed(case, said)
    false = said.chance > STATED and is_false(case, said.first)
    return Scored(group, kind, case.name, seed, case.true, case.inside, said, false, after,
                  changed, seconds)  # fmt: skip


def rows_of(kind: str, cases: list[Scored]) -> dict[str, tuple[int, int]]:
    """Hits and counts of every row of the table for one kind of docket."""
    mine = [c for c in cases if c.kind == kind]
    sound = [c for c in mine if c.group == "sound"]
    faulty = [c for c in mine if c.group == "faulty"]
    careful = [c for c in mine if c.group == "conscientious"]
    usual = sound + faulty
    points = [(c.said.points[k], t) for c in usual for k, t in c.inside.items()
              if k in c.said.points]  # fmt: skip
    all_points = sum(len(c.inside) for c in usual)
    decided = [(p, t) for p, t in points if p >= SURE or p <= 1 - SURE]
    stated = [c for c in usual if c.said.after is not None and c.said.after >= STATED]

    def of(chosen: Iterable[Scored], hit) -> tuple[int, int]:
        held = list(chosen)
        return sum(bool(hit(c)) for c in held), len(held)

    accused = [c for c in sound if c.said.first]
    return {
        "right fault first": of(faulty, lambda c: c.said.place(c.true) == 1),
        "right fault in two": of(faulty, lambda c: c.said.place(c.true) <= 2),
        "sound unit accused": of(accused, lambda c: c.said.first != NOTHING),
        "sound unit accused above 90 %": of(
            accused, lambda c: c.said.first != NOTHING and c.said.chance > STATED
        ),
        "told to alter while truly inside": of(
            (c for c in usual if c.all_inside), lambda c: c.said.action == "alter"
        ),
        "sound unit, 20 ordinary readings: inside or looks inside": of(
            sound, lambda c: c.said.decision in SAID_INSIDE
        ),
        "the same, conscientiously read": of(careful, lambda c: c.said.decision in SAID_INSIDE),
        "the same: inside": of(careful, lambda c: c.said.decision == "inside"),
        "unit truly outside: said inside or looks inside": of(
            (c for c in usual if not c.all_inside), lambda c: c.said.decision in SAID_INSIDE
        ),
        "points decided": (len(decided), all_points),
        "wrong of those": (sum((p >= SURE) != t for p, t in decided), len(decided)),
        "alterations stated at 0.9 or more: true": of(stated, lambda c: c.after),
    }


def calibration(cases: list[Scored]) -> dict[str, list[tuple[float, bool]]]:
    """What was stated with a chance, and whether it was so."""
    usual = [c for c in cases if c.group in ("sound", "faulty")]
    return {
        "explanations": [(p, n == c.true) for c in usual for n, p, _ in c.said.explanations],
        "points": [(c.said.points[k], t) for c in usual for k, t in c.inside.items()
                   if k in c.said.points],
        "whole unit": [(c.said.whole, c.all_inside) for c in usual if c.said.whole is not None],
        "alterations": [(c.said.after, c.after) for c in usual
                        if c.said.after is not None and c.after is not None],
        "next reading (its gain, and whether it changed the decision or the first)": [
            (c.said.next.gain, c.changed) for c in usual
            if c.changed is not None and c.said.next is not None
        ],
    }  # fmt: skip


def _bins(pairs: list[tuple[float, bool]]) -> list[list[str]]:
    stated = np.array([p for p, _ in pairs], dtype=float)
    true = np.array([t for _, t in pairs], dtype=bool)
    rows = []
    for low, high in pairwise(EDGES):
        here = (stated >= low) & (stated < high)
        if here.any():
            hits, count = int(true[here].sum()), int(here.sum())
            rows.append([f"{low:.2f}–{min(high, 1):.2f}", f"{stated[here].mean():.3f}",
                         share(hits, count)])  # fmt: skip
    return rows


def _report(out, cases: list[Scored], kinds: list[str], listed: bool) -> None:
    found = {kind: rows_of(kind, cases) for kind in kinds}
    rows = []
    for name, goals in GOALS.items():
        row: list[str] = [name]
        for kind in kinds:
            goal = goals[KINDS.index(kind)]
            row.append(share(*found[kind][name]) + (f" [{goal}]" if goal else ""))
        rows.append(row)
    out(table(["share of cases ± standard error (counts) [goal]", *kinds], rows))
    failed = {}
    for c in cases:
        if c.said.failed:
            failed[c.kind, c.said.failed] = failed.get((c.kind, c.said.failed), 0) + 1
    for (kind, code), count in sorted(failed.items()):
        out(f"\nNot judged: {count} cases of kind {kind}, `{code}`.")
    times = [c.seconds for c in cases if not c.said.failed]
    if times:
        out(f"\nA judgement: {np.median(times):.2f} s of processor time (median), "
            f"{np.quantile(times, 0.9):.2f} s (nine of ten).")  # fmt: skip
    _report_faults(out, cases, kinds)
    out("\n**Stated of the first place, and of the first two, of faulty units, mean.** Where these "
        "chances are true, so many are right, and no other order could have more.\n")  # fmt: skip
    rows = [[f"in {upto}", *(_stated(cases, kind, upto) for kind in kinds)] for upto in (1, 2)]
    out(table(["place", *kinds], rows))
    for kind in kinds:
        for name, pairs in calibration([c for c in cases if c.kind == kind]).items():
            if pairs:
                out(f"\n**Calibration, {kind}: {name}**\n")
                out(table(["stated", "mean stated", "true"], _bins(pairs)))
    _report_misfits(out, cases, kinds)
    if listed:
        _list(out, cases)


def _report_faults(out, cases: list[Scored], kinds: list[str]) -> None:
    faulty = [c for c in cases if c.group == "faulty"]
    names = sorted({c.true for c in faulty})
    rows = []
    for name in names:
        row = [name]
        for kind in kinds:
            mine = [c for c in faulty if c.true == name and c.kind == kind]
            places = [c.said.place(name) for c in mine]
            row.append(
                f"{sum(p == 1 for p in places)}, {sum(p <= 2 for p in places)} of {len(mine)}"
            )
        rows.append(row)
    if rows:
        out("\n**Each fault: first, in two, of cases**\n")
        out(table(["fault", *kinds], rows))


def _stated(cases: list[Scored], kind: str, upto: int) -> str:
    """Mean probability of the explanations up to a place, over the faulty units of a kind."""
    faulty = [c for c in cases if c.group == "faulty" and c.kind == kind]
    stated = [sum(p for _, p, place in c.said.explanations if place <= upto) for c in faulty]
    return f"{100 * np.mean(stated):.0f} %" if stated else "–"


def _report_misfits(out, cases: list[Scored], kinds: list[str]) -> None:
    misfits = [c for c in cases if c.group == "misfit"]
    if not misfits:
        return
    rows = []
    for name in MISFITS:
        mine = [c for c in misfits if c.name == name]
        wrong = [c for c in mine if c.false]
        told = ", ".join(f"{c.said.first} {c.said.chance:.2f} ({c.kind} {c.seed})" for c in wrong)
        loud = sum(c.said.chance > STATED for c in mine)
        rows.append([name, len(mine), loud, len(wrong), told])
    total = [share(sum(c.false for c in misfits if c.kind in k), sum(c.kind in k for c in misfits))
             for k in ([*kinds], *([k] for k in kinds))]  # fmt: skip
    out("\n**Misfits: stated above 90 % and false** [≤ 5 % of all cases]: " + total[0] + " ("
        + "; ".join(f"{k} {t}" for k, t in zip(kinds, total[1:], strict=True)) + ")\n")  # fmt: skip
    out(table(["misfit", "cases", "stated > 90 %", "of those false", "what was stated"], rows))


def _list(out, cases: list[Scored]) -> None:
    """Every case that failed, with its seed."""
    out("\n**Failing cases** (group, kind, seed; true; stated)\n")
    for c in cases:
        said = c.said
        whole = "–" if said.whole is None else f"{said.whole:.2f}"
        why = []
        if c.group == "faulty" and said.place(c.true) > 2:
            why.append("not in two")
        if c.group == "sound" and said.first != NOTHING:
            why.append("accused")
        if c.group in ("sound", "faulty") and c.all_inside and said.action == "alter":
            why.append("told to alter")
        if c.group == "sound" and said.decision not in SAID_INSIDE:
            why.append("not passed")
        if c.after is False and said.after is not None and said.after >= STATED:
            why.append("alteration false: " + ", ".join(
                f"{s.what} {s.path[-1]} {s.amount:+.2f}" for s in said.steps))  # fmt: skip
        wrong = [
            k for k, t in c.inside.items()
            if k in said.points and said.points[k] * (-1 if t else 1) >= (SURE - 1 if t else SURE)
        ]  # fmt: skip
        if wrong and c.group in ("sound", "faulty"):
            why.append(f"points {wrong}")
        if why:
            first = ", ".join(f"{n} {p:.2f}" for n, p, _ in said.explanations[:3])
            out(f"- {c.group} {c.kind} {c.seed}: {c.true}; {first}; {said.decision}, whole {whole},"
                f" {said.action}: {'; '.join(why)}")  # fmt: skip


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--quick", action="store_true", help="10 units each way, one of a misfit")
    asked.add_argument("--units", type=int, default=50)
    asked.add_argument("--misfits", type=int, default=3, help="cases of each misfit and docket")
    asked.add_argument("--first", type=int, default=0, help="first seed")
    asked.add_argument("--kinds", default=",".join(KINDS))
    asked.add_argument("--follow", type=int, default=10, help="next readings taken, each group")
    asked.add_argument("--list", action="store_true", help="name every failing case")
    asked.add_argument("--key", default="", help="of the section that is written")
    asked.add_argument("--store", default="", help="file of cases judged, to go on with")
    asked.add_argument("--minutes", type=float, default=1e6, help="no case is begun after")
    asked.add_argument("--processes", type=int, default=1)
    given = asked.parse_args()
    units, misfits = (10, 1) if given.quick else (given.units, given.misfits)
    follow = 3 if given.quick else given.follow
    kinds = given.kinds.split(",")
    seeds = range(given.first, given.first + units)
    tasks = [
        (group, kind, "", seed, group != "conscientious" and seed - given.first < follow)
        for seed in seeds for kind in kinds for group in ("sound", "faulty", "conscientious")
    ]  # fmt: skip
    tasks += [
        ("misfit", kind, name, seed, False)
        for seed in range(given.first, given.first + misfits)
        for kind in kinds for name in MISFITS
    ]  # fmt: skip
    key = given.key or ("judgement-quick" if given.quick else "judgement")
    upto, last = given.first + units - 1, given.first + misfits - 1
    told = f"{given.first}…{upto}, misfits {given.first}…{last}"
    title = "Judgement" + (f" ({key})" if given.key or given.quick else "")
    with section(key, title, told) as out:
        cases = list(_cases(tasks, given.store, given.minutes, given.processes))
        if len(cases) < len(tasks):
            out(f"Of {len(tasks)} cases {len(cases)} were judged in the time, seed by seed.\n")
        _report(out, cases, kinds, given.list or given.quick)


def _cases(
    tasks: list[Task], store: str, minutes: float, processes: int
) -> Iterator[Scored]:  # fmt: skip
    """Every case judged, from the store or now."""
    known: dict[Task, Scored] = {}
    code = tree_of("core", "tests/studies/simulator")
    if store and Path(store).exists():
        with open(store, "rb") as file:
            while (found := _next(file)) is not None:
                if found[0] == code:
                    known[found[1]] = found[2]
    wanted = [task for task in tasks if task not in known]
    yield from (known[task] for task in tasks if task in known)
    end = monotonic() + 60.0 * minutes
    with ProcessPoolExecutor(processes, initializer=niced) as pool:
        for start in range(0, len(wanted), 4 * processes):
            if monotonic() > end:
                return
            piece = wanted[start : start + 4 * processes]
            for task, scored in zip(piece, pool.map(judged, piece), strict=True):
                if store:
                    with open(store, "ab") as file:
                        pickle.dump((code, task, scored), file)
                yield scored


def _next(file: BinaryIO) -> tuple[str, Task, Scored] | None:
    try:
        found: tuple[str, Task, Scored] = pickle.load(file)
    except EOFError:
        return None
    return found


if __name__ == "__main__":
    main()
