"""Which unit this is, and for whom."""

from __future__ import annotations

from bobweight.core.record import Record, choice, number, stored, taken, text, whole
from bobweight.core.units import ANGLE, NUMBER

ROTATIONS = {"clockwise": "Clockwise", "anticlockwise": "Anticlockwise"}


@stored
class Particulars(Record):
    """Numbers and names of the unit and of the job."""

    title: str = text("Title", help="What you call this job; heads the sheet and the window.")
    unit_number: str = text("Unit number", help="As stamped on the body.")
    date_code: str = text("Date code", help="As stamped on the body.")
    fitted_to: str = text("Fitted to", help="The engine or machine it came from.")
    owner: str = text("Owner")
    job_number: str = text("Job number")
    received: str = text("Received", help="The day it came in: year-month-day.")
    restorer: str = text("Restorer", help="Whose name goes on the sheet.")
    lobes: int | None = whole(
        "Cam lobes", None, (1, 12), assumed=4,
        help="Sparks in one turn of the distributor shaft.",
    )  # fmt: skip
    rotation: str | None = choice(
        "Rotation", ROTATIONS, None, assumed="clockwise", help="As seen looking down on the cap."
    )
    drive_ratio: float | None = number(
        "Crank turns per distributor turn", NUMBER, hard=(0.25, 8.0), usual=(1.0, 2.0), assumed=2.0,
        help="2 for a four-stroke driven from the camshaft, 1 for a unit at crank speed.",
    )  # fmt: skip
    backlash_deg: float | None = number(
        "Backlash of the drive", ANGLE, hard=(0.0, 20.0), usual=(0.0, 6.0), frame="crank",
        uncertain=True, trade_u=1.0, assumed=0.0,
        help="Crank degrees that gears or chain let the shaft run ahead when speed falls. It shows "
        "on the engine only, as more advance falling than rising.",
    )  # fmt: skip
    stamped_maximum_deg: float | None = number(
        "Stamped maximum", ANGLE, hard=(0.0, 60.0), usual=(3.0, 25.0), frame="distributor",
        help="Centrifugal advance stamped on the cam or plate, in distributor degrees.",
    )  # fmt: skip
    remarks: str = text(
        "Remarks for the customer", long=True, help="Printed on the sheet that goes with the unit."
    )
    notes: str = text("Workshop notes", long=True, help="For yourself: they are not printed.")

    @property
    def lobes_taken(self) -> int:
        """Lobes of the cam; where they were not entered as most units have them."""
        return int(taken(self, "lobes"))

    @property
    def turns_clockwise(self) -> bool:
        """Whether it turns clockwise; where that was not entered as most units do."""
        return bool(taken(self, "rotation") == "clockwise")

    @property
    def ratio_taken(self) -> float:
        """Crank turns per distributor turn; where they were not entered as most units have."""
        return float(taken(self, "drive_ratio"))

    @property
    def backlash_taken_deg(self) -> float:
        """Backlash of the drive, crank degrees; none where it was not entered."""
        return float(taken(self, "backlash_deg"))

    @property
    def is_entered(self) -> bool:
        """Whether anything of the unit itself was entered."""
        return any(getattr(self, key) != getattr(Particulars(), key) for key in _OF_THE_UNIT)


_OF_THE_UNIT = ("unit_number", "date_code", "fitted_to", "lobes", "rotation", "drive_ratio",
                "stamped_maximum_deg")  # fmt: skip
