"""Which unit this is, and for whom."""

from __future__ import annotations

from bobweight.app.editors.form import Form
from bobweight.app.pages.page import Page
from bobweight.app.words import translate
from bobweight.core.docket.particulars import Particulars

_UNIT = (
    "title", "unit_number", "date_code", "fitted_to", "lobes", "rotation", "drive_ratio",
    "backlash_deg", "stamped_maximum_deg",
)  # fmt: skip
_WORDS = ("title", "fitted_to", "owner")
_JOB = ("owner", "job_number", "received", "restorer", "remarks", "notes")


class ParticularsPage(Page):
    """Particulars of the unit and of the job."""

    key = "particulars"
    roots = (("particulars",),)

    def build(self) -> None:
        for heading, keys in (
            (translate("pages", "The unit"), _UNIT),
            (translate("pages", "The job"), _JOB),
        ):
            made = Form(Particulars, ("particulars",), keys, self.store, self.display, _WORDS)
            self.add_group(heading, made)
