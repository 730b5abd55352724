"""Time two ways of doing one job, turn about, and compare their medians."""

from __future__ import annotations

import statistics
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from time import perf_counter

from tests.studies.results import table


@dataclass(frozen=True)
class Ratio:
    """A measured ratio and its goal; ``at_least`` tells which way is good."""

    name: str
    value: float
    goal: float
    at_least: bool
    note: str = ""

    @property
    def met(self) -> bool:
        return self.value >= self.goal if self.at_least else self.value <= self.goal

    def __str__(self) -> str:
        sign = "≥" if self.at_least else "≤"
        verdict = "met" if self.met else "NOT MET"
        return f"{self.name}: {self.value:.3g} (goal {sign} {self.goal:g}) {verdict}. {self.note}"


def seconds(job: Callable[[], object], times: int = 1) -> float:
    """Time of one call, the mean over ``times`` calls in a row."""
    start = perf_counter()
    for _ in range(times):
        job()
    return (perf_counter() - start) / times


def turn_about(
    a: Callable[[], object],
    b: Callable[[], object],
    rounds: int = 15,
    times: tuple[int, int] = (1, 1),
) -> tuple[float, float]:
    """Median times in seconds of two jobs, measured turn about after one unmeasured round."""
    a(), b()
    pairs = [(seconds(a, times[0]), seconds(b, times[1])) for _ in range(rounds)]
    return tuple(statistics.median(column) for column in zip(*pairs, strict=True))


def of_ratios(benchmarks: Iterable[Callable[[], Ratio]]) -> str:
    """Runs benchmarks and puts their ratios into a table."""
    found = [benchmark() for benchmark in benchmarks]
    return table(
        ["what", "ratio", "goal", "", "note"],
        [
            [r.name, f"{r.value:.3g}", f"{'≥' if r.at_least else '≤'} {r.goal:g}",
             "met" if r.met else "NOT MET", r.note]
            for r in found
        ],
    )  # fmt: skip
