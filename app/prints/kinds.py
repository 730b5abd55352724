"""Every print besides the sheet, by its key: its title, what it asks, and how it is described."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bobweight.app.messages.reassembly_words import step_text
from bobweight.app.paper.type import FontRuler
from bobweight.app.words import QT_TRANSLATE_NOOP
from bobweight.core.bench.reassembly import check_list
from bobweight.core.bench.ring import RingSpec, ring_for
from bobweight.core.bench.tape import TapeSpec, tape_for
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.record import Record
from bobweight.core.sheet.check_list import check_list_sheet
from bobweight.core.sheet.description import Description
from bobweight.core.sheet.engine_sheets import lamp_sheet, session_sheet
from bobweight.core.sheet.measuring_card import measuring_card_sheet
from bobweight.core.sheet.ring_sheet import ring_sheet
from bobweight.core.sheet.tape_sheet import tape_sheet
from bobweight.core.sheet.workshop import Workshop


@frozen
class Asked:
    """What a print is made of."""

    outcome: Outcome
    view: View
    paper: str
    workshop: Workshop
    said: str = ""
    """The one sentence of judgement; empty where none is at hand."""


def describe_tape(asked: Asked, tape: TapeSpec) -> Description:
    """The pages of a timing tape."""
    return tape_sheet(tape, asked.paper, FontRuler(), workshop=asked.workshop)


def describe_ring(asked: Asked, ring: RingSpec) -> Description:
    """The pages of a degree ring."""
    return ring_sheet(ring, asked.paper, FontRuler(), workshop=asked.workshop)


def describe_card(asked: Asked, _nothing: None = None) -> Description:
    """The lamp card."""
    return lamp_sheet(
        asked.outcome, asked.paper, FontRuler(), view=asked.view, workshop=asked.workshop,
        said=asked.said,
    )  # fmt: skip


def describe_session(asked: Asked, _nothing: None = None) -> Description:
    """The blank sheet for a session of readings."""
    return session_sheet(
        asked.outcome, asked.paper, FontRuler(), view=asked.view, workshop=asked.workshop
    )


def describe_steps(asked: Asked, _nothing: None = None) -> Description:
    """The reassembly list."""
    hints = {step.key: step_text(step) for step in check_list(asked.outcome.docket)}
    return check_list_sheet(
        asked.outcome, asked.paper, FontRuler(), hints=hints, workshop=asked.workshop
    )


def describe_measuring_card(asked: Asked, _nothing: None = None) -> Description:
    """The card that is laid round a part before it is photographed."""
    return measuring_card_sheet(asked.paper, FontRuler(), workshop=asked.workshop)


@frozen
class PrintKind:
    """One kind of print: its name in the menu, how it is described, what it asks beside the docket,
    as a record with the docket's own figures, and whether it bears the judgement."""

    title: str
    describe: Callable[[Asked, Any], Description]
    asks: Callable[[Docket], Record] | None = None
    judged: bool = False


CARD_FRAME = "crank-static"
"""The lamp card is read at the engine, whatever the window shows."""

KINDS: dict[str, PrintKind] = {
    "tape": PrintKind(QT_TRANSLATE_NOOP("prints", "Timing tape"), describe_tape, tape_for),
    "ring": PrintKind(QT_TRANSLATE_NOOP("prints", "Degree ring"), describe_ring, ring_for),
    "card": PrintKind(QT_TRANSLATE_NOOP("prints", "Lamp card"), describe_card, judged=True),
    "session": PrintKind(QT_TRANSLATE_NOOP("prints", "Blank session sheet"), describe_session),
    "steps": PrintKind(QT_TRANSLATE_NOOP("prints", "Reassembly list"), describe_steps),
    "measuring": PrintKind(QT_TRANSLATE_NOOP("prints", "Measuring card"), describe_measuring_card),
}
