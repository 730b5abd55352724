"""One figure of the mechanism mistyped: does the program accuse anybody for it?

    python -m tests.studies.mistyped [--units N] [--first SEED] [--processes P]

Units, dockets and sessions are those of :mod:`tests.studies.simulator`, sound and faulty in turn.
Of each docket one figure, any that has no usual value, is typed wrongly: the point one place to the
left or right, or its first digit another (common practice). The docket is judged as the program
does, and as if every figure were only a little off. Goal: what is stated above 90 % is false in at
most 5 % of all cases, as for every other misfit.
"""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass

from numpy.random import Generator

from bobweight.core.docket.docket import Docket
from bobweight.core.judgement import decision
from bobweight.core.judgement.decision import decide_docket
from bobweight.core.judgement.doubt import without_figures
from bobweight.core.mechanics.checks import figures_in_use, mechanism_problems
from bobweight.core.problems import Path
from bobweight.core.record import get, parameter_at, put
from tests.studies.asked import asked_units
from tests.studies.results import niced, section, share, table
from tests.studies.simulator.cases import NOTHING, ordinary, rng_of
from tests.studies.simulator.opinion import SAID_INSIDE

KINDS = ("careful", "caliper")
SLIPS = ("point to the left", "point to the right", "another first digit")


@dataclass(frozen=True)
class Said:
    """What a judgement comes to."""

    first: str
    chance: float
    decision: str
    action: str
    bare: bool
    doubted: tuple[Path, ...]


@dataclass(frozen=True)
class Judged:
    """What was said of one docket, taken for wrong and taken for true."""

    kind: str
    slip: str
    path: Path
    true: str
    all_inside: bool
    doubting: Said
    believing: Said


def mistyped(rng: Generator, docket: Docket) -> tuple[Docket, str, Path]:
    """The docket with one figure wrong; one that still gives a mechanism."""
    places: list[Path] = [
        ("mechanism", *place) for place in figures_in_use(docket.mechanism)
        if parameter_at(docket.mechanism, place).default is None
        and get(docket.mechanism, place)
    ]  # fmt: skip
    while True:
        path, slip = places[int(rng.integers(len(places)))], str(rng.choice(SLIPS))
        value = float(get(docket, path))
        if slip == SLIPS[2]:
            text = f"{value:.6g}"
            at = next(i for i, c in enumerate(text) if c in "123456789")
            digit = rng.choice([c for c in "123456789" if c != text[at]])
            wrong = float(text[:at] + str(digit) + text[at + 1 :])
        else:
            wrong = value * (0.1 if slip == SLIPS[0] else 10.0)
        low, high = parameter_at(docket, path).hard
        if low <= wrong <= high:
            made = put(docket, path, wrong)
            if not any(p.grave for p in mechanism_problems(made.mechanism)):
                return made, slip, path


def _said(docket: Docket) -> Said:
    j = decide_docket(docket).judgement
    first = j.explanations[0] if j.explanations else None
    name, chance = (first.name, float(first.probability)) if first else ("", 0.0)
    return Said(name, chance, j.decision, j.action, j.bare, j.doubted)


def _judged(task: tuple[str, int]) -> Judged:
    kind, seed = task
    case = ordinary(kind, seed, "any" if seed % 2 else "")
    docket, slip, path = mistyped(rng_of("mistyped", kind, seed), case.docket)
    doubting = _said(docket)
    decision.without_figures = lambda *_: None  # type: ignore[attr-defined]
    try:
        believing = _said(docket)
    finally:
        decision.without_figures = without_figures  # type: ignore[attr-defined]
    return Judged(kind, slip, path, case.true, case.all_inside, doubting, believing)


def _rows(cases: list[Judged]) -> Iterator[list[str]]:
    for which, words in (("believing", "as typed"), ("doubting", "as the program does")):
        said: list[tuple[Judged, Said]] = [(c, getattr(c, which)) for c in cases]
        false = [j for c, j in said if j.chance > 0.9 and j.first != c.true]
        sound = [j for c, j in said if c.true == NOTHING]
        inside = [j for c, j in said if c.all_inside]
        yield [
            words, share(len(false), len(cases)),
            share(sum(j.first == c.true for c, j in said), len(said)),
            share(sum(j.decision in SAID_INSIDE for j in sound), len(sound)),
            share(sum(j.action == "alter" for j in inside), len(inside)),
        ]  # fmt: skip


def main() -> None:
    seeds, given = asked_units(__doc__, 60, "kind of docket", 400)
    with section("mistyped", "One figure mistyped", f"{seeds[0]}…{seeds[-1]}") as out:
        with ProcessPoolExecutor(given.processes, initializer=niced) as pool:
            cases = list(pool.map(_judged, [(kind, seed) for seed in seeds for kind in KINDS]))
        rows = []
        for kind in (*KINDS, "both"):
            mine = [c for c in cases if kind in (c.kind, "both")]
            rows += [[kind, *row] for row in _rows(mine)]
        out(table(["docket", "judged", "stated above 90 % and false [≤ 5 %]", "right first",
                   "sound: passed", "inside: told to alter"], rows))  # fmt: skip
        doubted = [c for c in cases if c.doubting.bare]
        named = sum(c.path in c.doubting.doubted for c in doubted)
        out(f"\nA figure was doubted in {share(len(doubted), len(cases))} of the dockets, the one "
            f"that was wrong named among them in {share(named, len(doubted))}.\n")  # fmt: skip
        rows = [
            [slip, str(sum(c.slip == slip for c in cases)),
             str(sum(c.slip == slip for c in doubted))]
            for slip in SLIPS
        ]  # fmt: skip
        out(table(["slip", "dockets", "doubted"], rows))


if __name__ == "__main__":
    main()
