"""Run every benchmark and write its ratio down."""

from __future__ import annotations

import importlib
import pkgutil

import tests.studies
from tests.studies.ratio import of_ratios
from tests.studies.results import section


def main() -> None:
    found = []
    for module in pkgutil.iter_modules(tests.studies.__path__):
        if module.name[0] != "_" and not module.ispkg:
            one = importlib.import_module(f"tests.studies.{module.name}")
            found += getattr(one, "BENCHMARKS", ())
    with section("ratios", "Speed as ratios, side by side in one run") as out:
        out(of_ratios(found))


if __name__ == "__main__":
    main()
