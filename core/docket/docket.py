"""The docket: everything known about one distributor."""

from __future__ import annotations

from bobweight.core.docket.findings import Findings
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.photographs import Photograph
from bobweight.core.docket.pictures import MeasuredPicture
from bobweight.core.docket.points import Coil, Points
from bobweight.core.docket.readings import Session
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.docket.setting_up import USUAL_STATES, SettingUp
from bobweight.core.docket.states import UnitState
from bobweight.core.docket.target import Target
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.record import Record, many, one, stored


@stored
class Docket(Record):
    """One distributor. Edits make another docket; nothing here ever changes."""

    particulars: Particulars = one("Particulars", Particulars)
    mechanism: Mechanism = one("Mechanism", Mechanism)
    capsules: tuple[Capsule, ...] = many("Vacuum capsules", Capsule, most=4)
    target: Target = one("Target", Target)
    sessions: tuple[Session, ...] = many("Reading sessions", Session, most=500)
    setting_up: SettingUp = one("Setting up", SettingUp)
    findings: Findings = one("Findings", Findings)
    points: Points = one("Points", Points)
    coil: Coil = one("Coil", Coil)
    reassembly: Reassembly = one("Reassembly", Reassembly)
    photographs: tuple[Photograph, ...] = many("Photographs", Photograph, most=2000)
    pictures: tuple[MeasuredPicture, ...] = many("Pictures measured off", MeasuredPicture, most=20)
    history: tuple[Alteration, ...] = many("Alterations made", Alteration, most=5000)
    states: tuple[UnitState, ...] = many(
        "States of the unit",
        UnitState,
        most=1000,
        help="After each alteration; as found is not among them.",
    )

    @property
    def has_capsule(self) -> bool:
        """Whether any vacuum capsule is on the unit."""
        return any(capsule.given_as != "none" for capsule in self.capsules)

    @property
    def may_have_capsule(self) -> bool:
        """Whether the unit has one, or nothing of it was entered by which that could be told."""
        return self.has_capsule or not self.particulars.is_entered


def new_docket() -> Docket:
    """An empty docket with room for a capsule, one empty session and the usual driving states."""
    return Docket(
        capsules=(Capsule(),),
        sessions=(Session(title="As found"),),
        setting_up=SettingUp(states=USUAL_STATES),
    )
