"""What can be wrong with an input: a stable code and the numbers, never a sentence.

The application turns a :class:`Problem` into words (``app.messages``), so that the core needs
no translation and a test can compare codes.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import field
from typing import TypeVar

from bobweight.core.frozen import frozen

Path = tuple[str | int, ...]


@frozen
class Problem:
    """One thing that is wrong.

    Parameters
    ----------
    code : str
        Stable key, in kebab case, such as ``"above-limit"``.
    path : tuple of str and int
        Where in the docket: ``("mechanism", "springs", 0, "rate_n_per_mm")``. Empty if nowhere.
    facts : mapping
        The numbers and words that the sentence needs: ``value``, ``limit``, ``unit`` and so on.
    grave : bool
        True if no curve can be computed while it stands; False for advice.
    """

    code: str
    path: Path = ()
    facts: Mapping[str, object] = field(default_factory=dict)
    grave: bool = True

    def at(self, *prefix: str | int) -> Problem:
        """The same problem with its place seen from further out."""
        return Problem(self.code, (*prefix, *self.path), self.facts, self.grave)


class BobweightError(Exception):
    """Raised by the core for bad input. Carries the :class:`Problem`."""

    def __init__(self, code: str, path: Path = (), /, **facts: object) -> None:
        self.problem = Problem(code, path, facts)
        super().__init__(f"{code} at {path_text(path) or 'input'}: {dict(facts)}")

    @classmethod
    def of(cls, problem: Problem) -> BobweightError:
        """The exception for a problem that was found without raising."""
        error = cls(problem.code, problem.path, **problem.facts)
        error.problem = problem
        return error

    def in_file(self, name: str | os.PathLike[str]) -> BobweightError:
        """The same, of a file."""
        facts = {**self.problem.facts, "file": os.fspath(name)}
        return BobweightError(self.problem.code, self.problem.path, **facts)


Value = TypeVar("Value")


def required(value: Value | None, *path: str | int) -> Value:
    """A value that must be there by now.

    Raises
    ------
    BobweightError
        ``missing``, at the path, where it is not.
    """
    if value is None:
        raise BobweightError("missing", path)
    return value


def as_in_file(value: object) -> str:
    """The beginning of a value as a file has it, so that a number in quotation marks is seen."""
    return json.dumps(value, ensure_ascii=False, default=str)[:40]


def path_text(path: Path) -> str:
    """A path as written in messages and in JSON output: ``mechanism.springs[0].rate_n_per_mm``."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else (f".{step}" if text else step)
    return text
