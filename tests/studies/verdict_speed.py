"""``verdict`` and a whole decision against what importing numpy and scipy.optimize costs.

    python -m tests.studies.verdict_speed

Whole processes turn about, by the clock and by the processor, for every sample with readings; then
decisions of twenty readings in one process, by the processor, between imports. Seconds differ from
machine to machine, by twice and more: where 0.6 s was set for a decision these imports took 0.29 s,
so that it is held to 2.07 times them.
"""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from time import perf_counter, process_time

from bobweight.core.docket.file import read_docket
from bobweight.core.judgement.decision import decide_docket
from tests.studies.ratio import Ratio, of_ratios
from tests.studies.results import section, table
from tests.studies.simulator.cases import ordinary

SAMPLES = Path(__file__).parents[2] / "sample_curves"
IMPORTS = ("-c", "import numpy, scipy.optimize")
ROUNDS, SEEDS = 7, range(500, 508)
VERDICT_GOAL, DECISION_GOAL = 2.0, 0.6 / 0.29
_DEMO = "weak_primary"
# An installed program is compiled, as numpy is: it must not be compiled anew in every process.
_PLAIN = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"} | {
    "OPENBLAS_NUM_THREADS": "1"
}


def _taken(words: Sequence[str]) -> tuple[float, float]:
    """Seconds of a process of this Python, by the clock and by the processor."""
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), perf_counter()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL, env=_PLAIN)
    clock, after = perf_counter() - begun, resource.getrusage(resource.RUSAGE_CHILDREN)
    own = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return clock, own


def verdict_ratios(name: str) -> tuple[float, float]:
    """Median over rounds of verdict over imports, by the clock and by the processor."""
    asked = ("-m", "bobweight", "verdict", str(SAMPLES / f"{name}.docket"))
    _taken(asked), _taken(IMPORTS)
    pairs = [(_taken(asked), _taken(IMPORTS)) for _ in range(ROUNDS)]
    by_clock, by_processor = ([a[i] / b[i] for a, b in pairs] for i in (0, 1))
    return statistics.median(by_clock), statistics.median(by_processor)


def decision_times() -> tuple[list[float], list[float]]:
    """Processor seconds of decisions, and of the imports that each stands between."""
    decisions, imports = [], []
    for kind in ("careful", "caliper", "blank"):
        for seed in SEEDS:
            docket = ordinary(kind, seed, "any" if seed % 2 else "").docket
            decide_docket(docket)  # what is worked out once is there
            begun = process_time()
            decide_docket(docket)
            decisions.append(process_time() - begun)
            imports.append(_taken(IMPORTS)[1])
    return decisions, imports


def verdict() -> Ratio:
    """``verdict`` of the demo, by the clock."""
    clock, own = verdict_ratios(_DEMO)
    name = "verdict of the demo / importing numpy and scipy.optimize"
    return Ratio(name, clock, VERDICT_GOAL, False, f"By the processor {own:.2f}.")


def decision() -> Ratio:
    """A whole decision, by the processor."""
    decisions, imports = decision_times()
    ratio = statistics.median(a / b for a, b in zip(decisions, imports, strict=True))
    note = f"{statistics.median(decisions):.2f} s against {statistics.median(imports):.2f} s."
    name = "a whole decision / importing numpy and scipy.optimize, processor time"
    return Ratio(name, ratio, DECISION_GOAL, False, note)


BENCHMARKS = (verdict, decision)


def main() -> None:
    """Measure, and write the section."""
    names = sorted(p.stem for p in SAMPLES.glob("*.docket"))
    read = [
        n for n in names if any(s.readings for s in read_docket(SAMPLES / f"{n}.docket").sessions)
    ]
    rows = [[name, *(f"{ratio:.2f}" for ratio in verdict_ratios(name))] for name in read]
    note = f"Medians of {ROUNDS} rounds; decisions of seeds {SEEDS[0]}…{SEEDS[-1]}, three kinds."
    with section("verdict-speed", "Verdict and decision against imports", note=note) as out:
        out(table(["verdict / imports", "by the clock", "by the processor"], rows))
        out(of_ratios(BENCHMARKS))


if __name__ == "__main__":
    main()
