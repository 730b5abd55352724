"""Random valid records for property tests, built from the description of each record type.

``records(Spring)`` gives any spring that a file may hold; ``records(Spring, within="usual",
known=True)`` one with every number known and within common practice.
"""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from bobweight.core.docket.docket import Docket
from bobweight.core.record import Parameter, Record, parameters

TEXTS = st.text(st.characters(blacklist_categories=("Cs",)), max_size=12)
"""Any text that UTF-8 can hold."""

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-(10**20), 10**20) | TEXTS
    | st.floats(allow_nan=False, allow_infinity=False),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=4,
)  # fmt: skip
"""Any value of a JSON file."""


def records(
    kind: type[Record], *, within: str = "hard", known: bool = False, rows: int = 3,
    strangers: bool = False,
) -> st.SearchStrategy[Any]:  # fmt: skip
    """Valid records of a type.

    Parameters
    ----------
    kind : record type
    within : {'hard', 'usual'}
        Which limits the numbers keep to; a number without usual limits keeps to the hard ones.
    known : bool
        True: every number is known.
    rows : int
        Most rows in a table.
    strangers : bool
        True: with keys that this version does not know.
    """
    found = parameters(kind)
    options = {"within": within, "known": known, "rows": rows, "strangers": strangers}
    fields = {key: _values(parameter, options) for key, parameter in found.items()}
    uncertain = [key for key, parameter in found.items() if parameter.uncertain]
    fields["u"] = st.just({}) if known or not uncertain else _uncertainties(found, uncertain)
    # few records with strangers: with some in every record a docket takes long to draw
    fields["other"] = st.just({}) | _strangers(found) if strangers else st.just({})
    return st.builds(kind, **fields)


def dockets(**options: Any) -> st.SearchStrategy[Docket]:
    """Valid dockets; options as for :func:`records`."""
    return records(Docket, **options)


def numbers(parameter: Parameter, within: str = "hard") -> st.SearchStrategy[Any]:
    """Values of a number or a count within its limits."""
    low, high = parameter.usual if within == "usual" and parameter.usual else parameter.hard
    if parameter.kind == "whole":
        return st.integers(int(low), int(high))
    low, high = max(low, -1e9), min(high, 1e9)
    return st.floats(low, high, allow_nan=False)


def _values(parameter: Parameter, options: dict[str, Any]) -> st.SearchStrategy[Any]:
    if parameter.kind == "one":
        return records(parameter.record, **options)
    if parameter.kind == "many":
        items = records(parameter.record, **options)
        return st.lists(items, max_size=options["rows"]).map(tuple)
    if parameter.kind == "text":
        return TEXTS
    if parameter.kind == "flag":
        return st.booleans()
    if parameter.kind == "choice":
        return st.sampled_from(list(parameter.options))
    inside = numbers(parameter, options["within"])
    return st.none() | inside if parameter.optional and not options["known"] else inside


def _uncertainties(
    found: dict[str, Parameter], keys: list[str]
) -> st.SearchStrategy[dict[str, float]]:
    """Stated uncertainties of up to three numbers, each within its limits."""
    chosen = st.lists(st.sampled_from(keys), max_size=3, unique=True)
    return chosen.flatmap(
        lambda some: st.fixed_dictionaries({k: st.floats(*found[k].u_limits) for k in some})
    )


def _strangers(found: dict[str, Parameter]) -> st.SearchStrategy[dict[str, Any]]:
    taken = {*found, "u", "schema"}
    keys = TEXTS.filter(lambda key: key not in taken)
    unknown_u = st.dictionaries(keys, PLAIN, min_size=1, max_size=2)
    plain = st.dictionaries(keys, PLAIN, max_size=2)
    return plain | st.builds(lambda a, b: {**a, "u": b}, plain, unknown_u)
