"""Arguments made of a record: names, limits, defaults and help are those of its parameters."""

from __future__ import annotations

import argparse
import re
from collections.abc import Callable, Iterator
from typing import Any, TypeVar

from bobweight.app.words import help_text, label, option_text, unit_text, usual_range, with_unit
from bobweight.core.problems import BobweightError, Path
from bobweight.core.record import Parameter, Record, parameters, put
from bobweight.core.units import ANGLE, LENGTH, Quantity, parse

_UNIT = re.compile(r"_(n_per_mm|nmm|mm|deg|rpm|kpa|n|g|ms|s|m)$")
_METAVARS = {LENGTH.key: "LENGTH", ANGLE.key: "DEG"}
_R = TypeVar("_R", bound=Record)


def add_values(parser: argparse.ArgumentParser, record: type[Record]) -> None:
    """An argument for each plain value of a record and of those inside it."""
    for path, parameter in _values(record):
        _add(parser, path, parameter)


def _values(record: type[Record], prefix: Path = ()) -> Iterator[tuple[Path, Parameter]]:
    for key, parameter in parameters(record).items():
        if parameter.kind == "one" and parameter.record is not None:
            yield from _values(parameter.record, (*prefix, key))
        elif parameter.kind != "many":
            yield (*prefix, key), parameter


def option(path: Path) -> str:
    """The argument of a value: ``--span`` of ``("span_deg",)``."""
    return "--" + _UNIT.sub("", str(path[-1])).replace("_", "-")


def _dest(path: Path) -> str:
    return "value_" + "_".join(str(step) for step in path)


def _add(parser: argparse.ArgumentParser, path: Path, parameter: Parameter) -> None:
    settings: dict[str, Any] = {"dest": _dest(path), "help": _help(parameter), "default": None}
    if parameter.kind == "flag":
        settings |= {"action": "store_const", "const": not parameter.default}
    elif parameter.kind == "choice":
        settings["choices"] = tuple(parameter.options)
    elif parameter.kind == "text":
        settings["metavar"] = "TEXT"
    else:
        settings["type"] = reader(parameter.quantity)
        settings["metavar"] = "N" if parameter.kind == "whole" else _metavar(parameter)
    parser.add_argument(option(path), **settings)


def _metavar(parameter: Parameter) -> str:
    return _METAVARS.get(parameter.quantity.key, unit_text(parameter).upper() or "NUMBER")


def reader(quantity: Quantity) -> Callable[[str], float]:
    """Reads a number with or without a unit; without one it is in the stored unit."""

    def read(text: str) -> float:
        try:
            return parse(text, quantity)
        except BobweightError as error:
            from bobweight.app.messages import sentence

            raise argparse.ArgumentTypeError(sentence(error.problem)) from None

    return read


def _help(parameter: Parameter) -> str:
    """What it is, which values it takes and what is taken without it."""
    parts = [f"{label(parameter)}. {help_text(parameter)}".strip(), usual_range(parameter)]
    default = parameter.default
    if parameter.kind == "choice":
        words = (f"{key}: {option_text(parameter, key)}" for key in parameter.options)
        parts = [f"{parts[0]} {'; '.join(words)}."]
    if parameter.kind in ("number", "whole") and default is not None:
        parts.append(f"Default {with_unit(f'{default:g}', unit_text(parameter))}.")
    elif parameter.kind == "choice" and default is not None:
        parts.append(f"Default {default}.")
    elif parameter.assumed is not None:
        parts.append(f"Without it {parameter.assumed} is assumed, and the print says so.")
    return " ".join(part for part in parts if part).replace("%", "%%")


def with_values(record: _R, arguments: argparse.Namespace) -> _R:
    """The record with what was typed.

    Raises
    ------
    BobweightError
        For a value beyond its limits.
    """
    for path, parameter in _values(type(record)):
        typed = getattr(arguments, _dest(path), None)
        if typed is not None:
            try:
                if problem := parameter.check(typed):
                    raise BobweightError.of(problem)
                record = put(record, path, typed)
            except BobweightError as error:
                facts = {**error.problem.facts, "argument": option(path)}
                raise BobweightError(error.problem.code, path, **facts) from None
    return record
