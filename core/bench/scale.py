"""What the prints share: the steps of a scale of degrees, and its figures."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil, floor

from bobweight.core.problems import BobweightError
from bobweight.core.record import Record, checked, number, stored
from bobweight.core.units import ANGLE

_TOUCH = 1e-9
_ROUND_DEG = (10.0, 15.0, 30.0, 45.0, 60.0, 90.0)


@stored
class Steps(Record):
    """Degrees between the small, the middle and the labelled marks; the others are multiples of
    the smallest."""

    minor_deg: float = number(
        "Smallest step", ANGLE, 1.0, hard=(0.05, 90.0), help="Degrees between two marks."
    )
    mid_deg: float | None = number(
        "Longer marks every", ANGLE, hard=(0.05, 360.0), help="Empty: as suits the smallest step."
    )
    major_deg: float | None = number(
        "Figures every", ANGLE, hard=(0.05, 360.0), help="Empty: as suits the smallest step."
    )

    @property
    def longer_deg(self) -> float:
        """Degrees between the middle marks, as stated or as suits the smallest step."""
        return self._suitable((5.0, *_ROUND_DEG), 1, 5) if self.mid_deg is None else self.mid_deg

    @property
    def figures_deg(self) -> float:
        """Degrees between the labelled marks, as stated or as suits the smallest step."""
        return self._suitable(_ROUND_DEG, 5, 10) if self.major_deg is None else self.major_deg

    def _suitable(self, known: tuple[float, ...], least: int, otherwise: int) -> float:
        """The first round number that is a multiple of the smallest step, and large enough."""
        for step in known:
            of = step / self.minor_deg
            if of > least - _TOUCH and abs(of - round(of)) <= _TOUCH and step > self.minor_deg:
                return step
        return otherwise * self.minor_deg

    def check(self) -> None:
        """Refuse steps that do not fit each other.

        Raises
        ------
        BobweightError
            ``steps-not-multiple``; those of the limits.
        """
        checked(self)
        for name, step in (("mid_deg", self.longer_deg), ("major_deg", self.figures_deg)):
            of = self.minor_deg
            if step < of or abs(step / of - round(step / of)) > _TOUCH:
                raise BobweightError("steps-not-multiple", (name,), value=step, of=of)

    def marks(self, low_deg: float, high_deg: float) -> Iterator[tuple[float, str]]:
        """Angle in degrees and kind (``major``, ``mid``, ``minor``) of every mark in a closed
        range, zero being a major one."""
        major = round(self.figures_deg / self.minor_deg)
        mid = round(self.longer_deg / self.minor_deg)
        first = ceil(low_deg / self.minor_deg - _TOUCH)
        last = floor(high_deg / self.minor_deg + _TOUCH)
        for k in range(first, last + 1):
            kind = "major" if k % major == 0 else "mid" if k % mid == 0 else "minor"
            yield k * self.minor_deg, kind


def label(angle_deg: float) -> str:
    """The figure at a major mark: degrees without sign, in the shortest form."""
    return f"{abs(angle_deg):g}"
