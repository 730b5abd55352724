"""Run every benchmark and print its ratio."""

from __future__ import annotations

import importlib
import pkgutil

import tests.studies


def main() -> None:
    for module in pkgutil.iter_modules(tests.studies.__path__):
        found = (
            importlib.import_module(f"tests.studies.{module.name}")
            if module.name[0] != "_"
            else None
        )
        for benchmark in getattr(found, "BENCHMARKS", ()):
            print(benchmark(), flush=True)


if __name__ == "__main__":
    main()
