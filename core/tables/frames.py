"""Between the frame of a table and the frame in which a docket keeps its figures."""

from __future__ import annotations

from bobweight.core.docket.docket import Docket
from bobweight.core.frozen import frozen
from bobweight.core.judgement.frames import from_distributor, to_distributor
from bobweight.core.problems import BobweightError


@frozen
class Place:
    """How the place that a table goes to keeps its figures.

    Parameters
    ----------
    speed_frame : {'distributor', 'crank'}
    angle_frame : {'distributor', 'crank', 'crank-static'}
    drive_ratio : float
        Crank turns per distributor turn.
    static_deg : float or None
        Crank degrees of static in figures that hold it; None if not known.
    zero_deg : float
        What a rig's ring shows with no advance.
    depression_unit : str
        Offered where a table names none.
    """

    speed_frame: str = "distributor"
    angle_frame: str = "distributor"
    drive_ratio: float = 2.0
    static_deg: float | None = None
    zero_deg: float = 0.0
    depression_unit: str = "kPa"

    def speed(self, value: float, frame: str) -> float:
        """A speed in the frame of this place."""
        if frame == self.speed_frame:
            return value
        if frame == "distributor":
            return value * self.drive_ratio
        return value / self.drive_ratio

    def difference(self, value: float, frame: str) -> float:
        """A difference of speeds or of advances in the frame of this place: static does not
        enter."""
        return self.speed(value, "distributor" if frame == "distributor" else "crank")

    def angle(self, value: float, frame: str) -> float:
        """An advance in the frame of this place.

        Raises
        ------
        BobweightError
            ``table-static-needed`` where static must be added or taken off and is not known.
        """
        if frame == self.angle_frame:
            return value
        if "crank-static" in (frame, self.angle_frame) and self.static_deg is None:
            raise BobweightError("table-static-needed")
        static = self.static_deg or 0.0
        _, advance = to_distributor(0.0, value, frame, self.drive_ratio, static)
        _, found = from_distributor(0.0, advance, self.angle_frame, self.drive_ratio, static)
        return float(found) + (self.zero_deg if self.angle_frame == "distributor" else 0.0)


def place_of_readings(docket: Docket, session: int, depression_unit: str = "kPa") -> Place:
    """How a session keeps its readings: as its instruments show them. A lamp shows crank degrees
    with static, a rig distributor degrees from its ring's zero."""
    instrument = docket.sessions[session].instrument
    ratio = docket.particulars.ratio_taken
    if instrument.kind_taken == "lamp":
        return Place("crank", "crank-static", ratio, instrument.static_taken_deg,
                     depression_unit=depression_unit)  # fmt: skip
    return Place("distributor", "distributor", ratio, docket.setting_up.static_deg,
                 instrument.static_taken_deg, depression_unit)  # fmt: skip


def place_of_target(docket: Docket, vacuum: bool, depression_unit: str = "kPa") -> Place:
    """How the target keeps its centrifugal (or its vacuum) check points."""
    target = docket.target
    frame = target.vacuum_frame_taken if vacuum else target.frame_taken
    return Place(
        "distributor" if frame == "distributor" else "crank", frame,
        docket.particulars.ratio_taken, docket.setting_up.static_deg,
        depression_unit=depression_unit,
    )  # fmt: skip
