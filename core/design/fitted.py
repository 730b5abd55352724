"""A docket with other springs hooked in, and what of it a search for springs builds upon."""

from __future__ import annotations

from typing import Any

from bobweight.core.design.tray import OWN_FIGURES, TraySpring, hooked_in
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Spring
from bobweight.core.docket.spring_source import SpringSource
from bobweight.core.mechanics.typical import USUAL_ROLES
from bobweight.core.record import put


def with_spring_as(docket: Docket, spring: TraySpring, role: str) -> Docket:
    """The docket with copies of a tray spring in every place of a role; with a place added, its
    post and peg still to be measured, where there is none. Of a unit of which no spring is entered
    the other that is assumed stays, as one not measured yet."""
    springs = docket.mechanism.springs or tuple(Spring(role=each) for each in USUAL_ROLES)
    if not any(each.role == role for each in springs):
        springs = (*springs, Spring(role=role))
    made = tuple(hooked_in(each, spring) if each.role == role else each for each in springs)
    return put(docket, ("mechanism", "springs"), made)


def basis(docket: Docket, stop_free: bool) -> tuple[Any, ...]:
    """All of a docket that a search for springs builds upon: what it sets itself (figures, tangs
    and slack of primary and secondary, a free stop) left out. Equal ones have equal answers."""
    bare = {"tang_mm": 0.0, "slack_mm": 0.0, "label": "", "source": SpringSource(), "u": {},
            **{key: getattr(Spring(), key) for key in OWN_FIGURES}}  # fmt: skip
    mechanism = docket.mechanism
    springs = tuple(s if s.role == "further" else s.with_changes(**bare) for s in mechanism.springs)
    stop = None if stop_free else mechanism.stop_deg
    rest = mechanism.with_changes(springs=springs, stop_deg=stop, u={})
    return docket.target, docket.particulars.ratio_taken, docket.setting_up.static_deg, rest


def same_places(one: Docket, other: Docket) -> bool:
    """True if both dockets have springs of the same roles in the same order."""
    return [s.role for s in one.mechanism.springs] == [s.role for s in other.mechanism.springs]
