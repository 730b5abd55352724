"""What is asked besides docket and tray, described as records so that every field, argument and
default has its unit, limits and tip from here."""

from __future__ import annotations

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.spring_source import WIRES
from bobweight.core.record import (
    Record,
    choice,
    flag,
    number,
    parameters,
    same_as,
    stored,
    whole,
)
from bobweight.core.units import ANGLE, FORCE, LENGTH, SPRING_RATE

_STOP = parameters(Mechanism)["stop_deg"]
Range = tuple[float, float]


@stored
class ReadingSure(Record):
    """How well loads and lengths of a hang test are read."""

    load_n: float | None = number(
        "Each load ±", FORCE, hard=(1e-6, 100.0),
        help="Standard uncertainty of every load of this test, as far as it differs from load to "
        "load.",
    )  # fmt: skip
    length_mm: float | None = number(
        "Each length ±", LENGTH, hard=(1e-4, 20.0),
        help="Standard uncertainty of every length of this test. Empty: taken from the scatter.",
    )  # fmt: skip


@stored
class WorkingLength(Record):
    """How far the spring is stretched in use."""

    working_mm: float | None = number(
        "Stretched to", LENGTH, hard=(1.0, 500.0),
        help="The longest length in use, between the insides of the hooks; the stresses are taken "
        "there.",
    )  # fmt: skip


@stored
class SearchAsk(Record):
    """How far a hand may go in the search."""

    primary_tang_mm: float = number(
        "Primary post, up to ±", LENGTH, 2.0, hard=(0.0, 10.0), usual=(0.0, 3.0),
        help="How far its tang may be bent either way from where the post was measured.",
    )  # fmt: skip
    secondary_tang_mm: float = number(
        "Secondary post, up to ±", LENGTH, 2.0, hard=(0.0, 10.0), usual=(0.0, 3.0),
        help="How far its tang may be bent either way from where the post was measured.",
    )  # fmt: skip
    slack_least_mm: float = number(
        "Slack, least", LENGTH, 0.0, hard=(0.0, 30.0), usual=(0.0, 5.0),
        help="The least that the loop of the secondary spring can be closed to.",
    )  # fmt: skip
    slack_most_mm: float = number(
        "Slack, most", LENGTH, 3.0, hard=(0.0, 30.0), usual=(0.0, 5.0),
        help="The most that the loop of the secondary spring can be opened to.",
    )  # fmt: skip
    primary_rate_most_n_per_mm: float = number(
        "Primary, no stiffer than", SPRING_RATE, 8.0, hard=(0.001, 500.0), usual=(0.5, 8.0),
        help="Light springs have 0.5 to 2.7 N/mm as a rule, and hardly any more than 8 (common "
        "practice): a stiffer one of the tray is not offered as primary.",
    )  # fmt: skip
    stop_free: bool = flag("The stop may be altered", help="Filed, or built up.")
    stop_least_deg: float = number("Stop, least", ANGLE, 5.0, hard=_STOP.hard, frame=_STOP.frame)
    stop_most_deg: float = number("Stop, most", ANGLE, 18.0, hard=_STOP.hard, frame=_STOP.frame)
    top: int = whole("Show the best", 12, (1, 1000), help="So many pairs.")

    @property
    def primary_tang_range_mm(self) -> Range:
        """Between which the primary's tang may be set."""
        return -self.primary_tang_mm, self.primary_tang_mm

    @property
    def secondary_tang_range_mm(self) -> Range:
        """Between which the secondary's tang may be set."""
        return -self.secondary_tang_mm, self.secondary_tang_mm

    @property
    def slack_range_mm(self) -> Range:
        """Between which the slack of the secondary may be set."""
        return _in_order(self.slack_least_mm, self.slack_most_mm)

    @property
    def stop_range_deg(self) -> Range | None:
        """Between which the stop may be set; None leaves it as it is."""
        return _in_order(self.stop_least_deg, self.stop_most_deg) if self.stop_free else None


def _in_order(least: float, most: float) -> Range:
    return (least, most) if least <= most else (most, least)


@stored
class OrderAsk(Record):
    """What springs are to be wound of, and whether the stop may follow."""

    material: str = choice("Wire of", WIRES, "music")
    stop_free: bool = same_as(SearchAsk, "stop_free")
    stop_least_deg: float = same_as(SearchAsk, "stop_least_deg")
    stop_most_deg: float = same_as(SearchAsk, "stop_most_deg")

    @property
    def stop_range_deg(self) -> Range | None:
        """Between which the stop may be set; None leaves it as it is."""
        return _in_order(self.stop_least_deg, self.stop_most_deg) if self.stop_free else None
