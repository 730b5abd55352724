"""What the parts ask besides docket and tray, described as records so that every field has its
unit, limits and tip. Each part keeps its own in a small store."""

from __future__ import annotations

from bobweight.core.docket.spring_source import WIRES
from bobweight.core.record import Record, choice, flag, number, stored, whole
from bobweight.core.units import ANGLE, FORCE, LENGTH


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
    stop_free: bool = flag("The stop may be altered", help="Filed, or built up.")
    stop_least_deg: float = number(
        "Stop, least", ANGLE, 5.0, hard=(0.1, 60.0), help="Distributor degrees."
    )
    stop_most_deg: float = number(
        "Stop, most", ANGLE, 18.0, hard=(0.1, 60.0), help="Distributor degrees."
    )
    top: int = whole("Show the best", 12, (1, 100))


@stored
class OrderAsk(Record):
    """What springs are to be wound of, and whether the stop may follow."""

    material: str = choice("Wire of", WIRES, "music")
    stop_free: bool = flag("The stop may be altered", help="Filed, or built up.")
    stop_least_deg: float = number(
        "Stop, least", ANGLE, 5.0, hard=(0.1, 60.0), help="Distributor degrees."
    )
    stop_most_deg: float = number(
        "Stop, most", ANGLE, 18.0, hard=(0.1, 60.0), help="Distributor degrees."
    )
