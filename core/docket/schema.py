"""The published JSON Schema (2020-12) of a docket file, derived from the parameter table.

``python -m bobweight.core.docket.schema`` writes ``docket.schema.json``; a test compares.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from pathlib import Path as FilePath
from typing import Any

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.migrations import SCHEMA
from bobweight.core.record import Parameter, Record, parameters

SCHEMA_FILE = FilePath(__file__).with_name("docket.schema.json")


def json_schema() -> dict[str, Any]:
    """The schema of a docket file. ``x-unit`` is the unit of a number, ``x-usual`` the range of
    common practice, ``x-labels`` the words shown for the options of a choice, ``x-assumed`` what
    is taken where a value is null."""
    definitions: dict[str, Any] = {}
    _define(Docket, definitions)
    whole = definitions.pop("Docket")
    number = {
        "title": "Schema",
        "description": "Version of this layout.",
        "type": "integer",
        "const": SCHEMA,
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:bobweight:docket:{SCHEMA}",
        "title": "Docket",
        "description": whole["description"],
        "type": "object",
        "required": ["schema"],
        "properties": {"schema": number, **whole["properties"]},
        "$defs": dict(sorted(definitions.items())),
    }


def _define(record: type[Record], definitions: dict[str, Any]) -> dict[str, str]:
    name = record.__name__
    if name not in definitions:
        definitions[name] = {}
        properties: dict[str, Any] = {}
        uncertain: dict[str, Any] = {}
        for key, parameter in parameters(record).items():
            properties[key] = _property(parameter, definitions)
            if parameter.uncertain:
                uncertain[key] = _uncertainty(parameter)
        if uncertain:
            properties["u"] = {
                "title": "Standard uncertainties",
                "description": "By field; one that is absent or null is not stated.",
                "type": "object",
                "properties": uncertain,
            }
        definitions[name] = {
            "title": name,
            "description": " ".join((record.__doc__ or "").split()),
            "type": "object",
            "properties": properties,
        }
    return {"$ref": f"#/$defs/{name}"}


def _property(parameter: Parameter, definitions: dict[str, Any]) -> dict[str, Any]:
    made: dict[str, Any] = {"title": parameter.label}
    if parameter.help:
        made["description"] = parameter.help
    if parameter.kind == "one":
        return made | _define(parameter.inner, definitions)
    if parameter.kind == "many":
        items = _define(parameter.inner, definitions)
        return made | {"type": "array", "maxItems": parameter.most, "items": items}
    made |= _SHAPES[parameter.kind](parameter)
    made["default"] = parameter.default
    if parameter.assumed is not None:
        made["x-assumed"] = parameter.assumed
    return made


def _numeric(name: str, parameter: Parameter) -> dict[str, Any]:
    made: dict[str, Any] = {"type": [name, "null"] if parameter.optional else name}
    low, high = parameter.hard
    if math.isfinite(low):
        made["minimum"] = low
    if math.isfinite(high):
        made["maximum"] = high
    if parameter.quantity.stored.symbol:
        made["x-unit"] = parameter.quantity.stored.symbol
    if parameter.usual:
        made["x-usual"] = list(parameter.usual)
    return made


_SHAPES: dict[str, Callable[[Parameter], dict[str, Any]]] = {
    "number": lambda parameter: _numeric("number", parameter),
    "whole": lambda parameter: _numeric("integer", parameter),
    "text": lambda parameter: {"type": "string"},
    "flag": lambda parameter: {"type": "boolean"},
    "choice": lambda parameter: {
        "enum": [*parameter.options, *([None] if parameter.optional else [])],
        "x-labels": dict(parameter.options),
    },
}


def _uncertainty(parameter: Parameter) -> dict[str, Any]:
    low, high = parameter.u_limits
    made: dict[str, Any] = {"type": ["number", "null"], "minimum": low, "maximum": high}
    if parameter.quantity.stored.symbol:
        made["x-unit"] = parameter.quantity.stored.symbol
    return made


def schema_text() -> str:
    """The schema as the text of the published file."""
    return json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")
