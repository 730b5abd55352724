"""What the campaigns are asked: how many, from which seed, for how long at most."""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Asked:
    """The size of a campaign.

    Attributes
    ----------
    count, first : int
        How many cases, and the first seed.
    minutes : float
        After these no new case is begun; the section says how far it came.
    more : argparse.Namespace
        What else the study asks.
    """

    count: int
    first: int = 1
    minutes: float = float("inf")
    more: argparse.Namespace = field(default_factory=argparse.Namespace)
    begun: float = field(default_factory=time.time)

    @property
    def over(self) -> bool:
        """True once the time is up, in any process that was given this."""
        return time.time() - self.begun > 60.0 * self.minutes

    def reached(self, done: int, what: str) -> str:
        """How far it came, if not to the end."""
        return f"Of {self.count} {what} {done} were done in {self.minutes:.0f} minutes."


def asked_units(
    about: str | None, units: int, of_each: str, first: int
) -> tuple[range, argparse.Namespace]:
    """The seeds of a study of units and all that it was asked: how many of each, from which seed,
    in how many processes."""
    parser = argparse.ArgumentParser(description=(about or "").splitlines()[0])
    parser.add_argument("--units", type=int, default=units, help=f"of each {of_each}")
    parser.add_argument("--first", type=int, default=first, help="first seed")
    parser.add_argument("--processes", type=int, default=1)
    given = parser.parse_args()
    return range(given.first, given.first + given.units), given


def asked(about: str | None, count: int, **more: tuple[object, str]) -> Asked:
    """Read the command line: ``more`` are further options, each with its default and its help."""
    parser = argparse.ArgumentParser(
        description=about, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("count", nargs="?", type=int, default=count, help=f"cases ({count})")
    parser.add_argument("--first", type=int, default=1, help="the first seed (1)")
    parser.add_argument("--minutes", type=float, default=float("inf"), help="at most so long")
    for name, (default, words) in more.items():
        parser.add_argument(f"--{name.replace('_', '-')}", type=type(default), default=default,
                            help=f"{words} ({default})")  # fmt: skip
    given = parser.parse_args()
    return Asked(given.count, given.first, given.minutes, given)
