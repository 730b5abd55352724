"""Every print besides the sheet, by its key: its title, its form, and how it is described."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import QT_TRANSLATE_NOOP

from bobweight.app.messages.reassembly_words import step_text
from bobweight.app.paper.type import FontRuler
from bobweight.app.prints.forms import PrintForm, RingForm, TapeForm
from bobweight.app.store.display import Display
from bobweight.core.bench.reassembly import check_list
from bobweight.core.docket.docket import Docket
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.sheet.check_list import check_list_sheet
from bobweight.core.sheet.description import Description, plain
from bobweight.core.sheet.engine_sheets import lamp_sheet, session_sheet
from bobweight.core.sheet.figures import View
from bobweight.core.sheet.ring_sheet import ring_sheet
from bobweight.core.sheet.tape_sheet import tape_sheet
from bobweight.core.sheet.workshop import Workshop


@dataclass(frozen=True)
class Asked:
    """What a print is made of."""

    outcome: Outcome
    view: View
    paper: str
    workshop: Workshop

    @property
    def subject(self) -> str:
        """What the docket is called."""
        record = self.outcome.docket.particulars
        return plain(record.title) or plain(record.unit_number)


def describe_tape(asked: Asked, form: TapeForm) -> Description:
    """The pages of the timing tape that a form asks for."""
    return tape_sheet(
        form.spec(), asked.paper, FontRuler(), width_mm=form.width_mm(),
        order=form.firing_order(), subject=asked.subject, workshop=asked.workshop,
    )  # fmt: skip


def describe_ring(asked: Asked, form: RingForm) -> Description:
    """The pages of the degree ring that a form asks for."""
    return ring_sheet(
        form.spec(), asked.paper, FontRuler(), subject=asked.subject, workshop=asked.workshop
    )


def describe_card(asked: Asked, _form: None = None) -> Description:
    """The lamp card."""
    return lamp_sheet(
        asked.outcome, asked.paper, FontRuler(), view=asked.view, workshop=asked.workshop
    )


def describe_session(asked: Asked, _form: None = None) -> Description:
    """The blank sheet for a session of readings."""
    return session_sheet(
        asked.outcome, asked.paper, FontRuler(), view=asked.view, workshop=asked.workshop
    )


def describe_steps(asked: Asked, _form: None = None) -> Description:
    """The reassembly list."""
    hints = {step.key: step_text(step) for step in check_list(asked.outcome.docket)}
    return check_list_sheet(
        asked.outcome, asked.paper, FontRuler(), hints=hints, workshop=asked.workshop
    )


@dataclass(frozen=True)
class PrintKind:
    """One kind of print: its name in the menu, what it describes, and its form if it has one."""

    title: str
    describe: Callable[[Asked, object], Description]
    form: Callable[[Docket, Display], PrintForm] | None = None


KINDS: dict[str, PrintKind] = {
    "tape": PrintKind(QT_TRANSLATE_NOOP("prints", "Timing tape"), describe_tape, TapeForm),
    "ring": PrintKind(QT_TRANSLATE_NOOP("prints", "Degree ring"), describe_ring, RingForm),
    "card": PrintKind(QT_TRANSLATE_NOOP("prints", "Lamp card"), describe_card),
    "session": PrintKind(QT_TRANSLATE_NOOP("prints", "Blank session sheet"), describe_session),
    "steps": PrintKind(QT_TRANSLATE_NOOP("prints", "Reassembly list"), describe_steps),
}
