"""What the prints share: the steps of a scale of degrees, and the bar that proves its size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil, floor

from bobweight.core.bench._checks import positive
from bobweight.core.problems import BobweightError

_TOUCH = 1e-9


@dataclass(frozen=True)
class Steps:
    """Degrees between the small, the middle and the labelled marks; each a multiple of the one
    before."""

    minor_deg: float = 1.0
    mid_deg: float = 5.0
    major_deg: float = 10.0

    def __post_init__(self) -> None:
        positive("minor_deg", self.minor_deg, "°")
        for name, step, of in (
            ("mid_deg", self.mid_deg, self.minor_deg),
            ("major_deg", self.major_deg, self.minor_deg),
        ):
            positive(name, step, "°")
            if step < of or abs(step / of - round(step / of)) > _TOUCH:
                raise BobweightError("steps-not-multiple", (name,), value=step, of=of)

    def marks(self, low_deg: float, high_deg: float) -> Iterator[tuple[float, str]]:
        """Angle in degrees and kind (``major``, ``mid``, ``minor``) of every mark in a closed
        range, zero being a major one."""
        major = round(self.major_deg / self.minor_deg)
        mid = round(self.mid_deg / self.minor_deg)
        first = ceil(low_deg / self.minor_deg - _TOUCH)
        last = floor(high_deg / self.minor_deg + _TOUCH)
        for k in range(first, last + 1):
            kind = "major" if k % major == 0 else "mid" if k % mid == 0 else "minor"
            yield k * self.minor_deg, kind


@dataclass(frozen=True)
class CheckBar:
    """A bar of known length, mm, with ticks every ``tick_mm``, to be measured on the paper."""

    length_mm: float = 100.0
    tick_mm: float = 10.0

    @property
    def ticks_mm(self) -> tuple[float, ...]:
        """Distances of the ticks from the bar's left end, both ends among them."""
        return tuple(k * self.tick_mm for k in range(round(self.length_mm / self.tick_mm) + 1))


CHECK_BAR = CheckBar()


def page_size(name: str, size_mm: float) -> float:
    """The printable size, which must hold the check bar.

    Raises
    ------
    BobweightError
        ``page-too-small`` with the value and the least.
    """
    size = float(positive(name, size_mm, "mm"))
    if size < CHECK_BAR.length_mm:
        raise BobweightError("page-too-small", (name,), value=size, limit=CHECK_BAR.length_mm)
    return size


def label(angle_deg: float) -> str:
    """The figure at a major mark: degrees without sign, in the shortest form."""
    return f"{abs(angle_deg):g}"
