"""Steps that bring the plain values of an older docket file to the present schema.

A step turns one schema into the next and is never edited once a schema has been released; a
sample file of each schema stays under test. Adding a field needs no step (a file without it takes
the default); renaming, moving or changing the meaning of one does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from bobweight.core.problems import BobweightError

SCHEMA = 1
"""The schema this version writes."""

Step = Callable[[dict[str, Any]], dict[str, Any]]
STEPS: dict[int, Step] = {}
"""The registered steps, by the schema each starts from."""


def step(from_schema: int) -> Callable[[Step], Step]:
    """Register a function as the step from a schema to the next."""

    def register(function: Step) -> Step:
        if from_schema in STEPS:
            raise ValueError(f"two steps from schema {from_schema}")
        STEPS[from_schema] = function
        return function

    return register


def migrate(plain: Any, steps: Mapping[int, Step] = STEPS, present: int = SCHEMA) -> dict[str, Any]:
    """The plain values of a docket file in the present schema, without the key ``schema``.

    Raises
    ------
    BobweightError
        ``not-an-object``; ``not-a-docket`` without a schema; ``bad-schema``; ``newer-schema``.
    """
    if not isinstance(plain, dict):
        raise BobweightError("not-an-object")
    if "schema" not in plain:
        raise BobweightError("not-a-docket")
    found = plain["schema"]
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        raise BobweightError("bad-schema", ("schema",), value=str(found)[:40], known=present)
    if found > present:
        raise BobweightError("newer-schema", ("schema",), value=found, known=present)
    plain = {key: value for key, value in plain.items() if key != "schema"}
    for number in range(found, present):
        plain = steps[number](plain)
    return plain
