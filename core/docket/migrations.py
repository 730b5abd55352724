"""Steps that bring the plain values of an older docket file to the present schema.

A step turns one schema into the next and is never edited once a schema has been released; a
sample file of each schema stays under test. Adding a field needs no step (a file without it takes
the default); renaming, moving or changing the meaning of one does.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from bobweight.core.problems import BobweightError

SCHEMA = 3
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
    values = {key: value for key, value in plain.items() if key != "schema"}
    for number in range(found, present):
        values = steps[number](values)
    return values


@step(1)
def _ends_of_springs_and_a_list_of_capsules(plain: dict[str, Any]) -> dict[str, Any]:
    """A spring says what either end stands on and which weight it belongs to (springs on weights
    went round in the order of the list); the one capsule becomes a list, and feels whatever
    depression a driving state has, as it did."""
    plain = dict(plain)
    mechanism = plain.get("mechanism")
    if isinstance(mechanism, dict) and isinstance(mechanism.get("springs"), list):
        weights = mechanism.get("weights")
        count = weights.get("count", 2) if isinstance(weights, dict) else 2
        springs, on_weights = [], 0
        for spring in mechanism["springs"]:
            if isinstance(spring, dict) and "mount" in spring:
                spring = {("peg_on" if k == "mount" else k): v for k, v in spring.items()}
                if spring["peg_on"] == "weight":
                    if isinstance(count, int) and count > 0:
                        spring["weight"] = on_weights % count + 1
                    on_weights += 1
            springs.append(spring)
        plain["mechanism"] = {**mechanism, "springs": springs}
    if "capsule" in plain:
        capsule = plain.pop("capsule")
        if isinstance(capsule, dict):
            capsule = {"fed_from": "manifold", **capsule}
        plain["capsules"] = [capsule]
    for state in plain.get("states", ()) if isinstance(plain.get("states"), list) else ():
        changes = state.get("changes") if isinstance(state, dict) else None
        for change in changes if isinstance(changes, list) else ():
            if isinstance(change, dict) and str(change.get("path")).startswith("capsule."):
                change["path"] = f"capsules[0].{change['path'][len('capsule.') :]}"
    return plain


_NOUGHTS = ("heel_drag_nmm", "stick_nmm")


@step(2)
def _noughts_that_nobody_measured(plain: dict[str, Any]) -> dict[str, Any]:
    """Friction, slack and a lamp's static are blank until entered: a nought without its uncertainty
    was what stood there before, and was judged as unknown."""
    plain = dict(plain)
    if isinstance(mechanism := plain.get("mechanism"), dict):
        mechanism = _blank(mechanism, *_NOUGHTS)
        if isinstance(springs := mechanism.get("springs"), list):
            mechanism["springs"] = [_blank(spring, "slack_mm") for spring in springs]
        plain["mechanism"] = mechanism
    if isinstance(sessions := plain.get("sessions"), list):
        plain["sessions"] = [
            {**s, "instrument": _blank(i, "static_deg")}
            if isinstance(s, dict)
            and isinstance(i := s.get("instrument"), dict)
            and i.get("kind", "lamp") == "lamp"
            else s
            for s in sessions
        ]
    return plain


def _blank(record: Any, *keys: str) -> Any:
    """A record with None for what is nought and has no uncertainty; anything else as it is."""
    if not isinstance(record, dict):
        return record
    u = record.get("u")
    known = u if isinstance(u, dict) else {}
    noughts = {
        key: None for key in keys
        if isinstance(v := record.get(key), int | float) and v == 0 and key not in known
        and not isinstance(v, bool)
    }  # fmt: skip
    return {**record, **noughts}
