"""What the parts of the Verdict page share."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bobweight.app.widgets.part import PagePart
from bobweight.app.words import translate

if TYPE_CHECKING:
    from bobweight.core.judgement.consequences import Consequences


def being_judged() -> str:
    """Why nothing can be taken from a decision that is older than the docket."""
    return translate("verdict", "The docket was altered and is being judged anew.")


class VerdictPart(PagePart):
    """A titled card that shows what was found. Subclasses name its ``title``."""

    title = ""

    @classmethod
    def shown_title(cls) -> str:
        return translate("verdict", cls.title)

    def build(self) -> None:
        self.decisions = self.feed.decisions
        self.fill()

    def fill(self) -> None:
        """Fill the card."""

    def show_found(self, found: Consequences) -> None:
        """Show a decision."""

    def show_current(self, found: Consequences, current: bool) -> None:
        """Whether the decision shown is of the docket as it stands, and may be acted on."""
