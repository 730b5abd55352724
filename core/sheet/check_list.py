"""The check list of reassembly on paper, with the plan of rotor slot and dog at true size."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from math import cos, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.bench.reassembly import ReassemblyStep, SlotPlan, check_list, known_plan
from bobweight.core.docket.reassembly import Reassembly
from bobweight.core.figure.description import Content, word
from bobweight.core.sheet.blocks import label
from bobweight.core.sheet.description import (
    Description,
    Element,
    Line,
    Marks,
    Paragraph,
    Polygon,
    Polyline,
    Rect,
    Ruler,
    Text,
    plain,
)
from bobweight.core.sheet.layout import SMALL_PT, place_to_write
from bobweight.core.sheet.pages import SECTION_MM, Pages
from bobweight.core.sheet.workshop import Workshop

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

_BOX_MM = 3.4
_INSET_MM = 7.5
_STEP_PT, _HINT_PT, _HINT_MM = 9.5, 7.5, 3.2
_TRAP_MM = 16.0
_STEP_MM = 3.6  # of its words alone
_GROUP_MM, _NAME_MM = 0.8, 6.2  # under a group; for who signs
_GAP_MM = 1.4  # from one step to the next
_CLOSER_MM = (_GAP_MM, 1.1, 0.8)  # as open as one page allows
_OPENER = tuple(itertools.product((1.2, 1.1, 1.0), (6.0, 5.0, 4.0, 3.2, 2.5, 1.9)))
"""Size and gap in mm of what takes several pages: read from further off, rather than a page that
ends far above its foot."""
_LESS_MM = range(10, 150, 10)
_MOST_WHOLE_MM = 120.0  # a group that is taller may be parted


def check_list_sheet(outcome: Outcome, paper: str, ruler: Ruler, *,
                     hints: Mapping[str, str] | None = None,
                     workshop: Workshop | None = None) -> Description:  # fmt: skip
    """The steps for this unit with a box to tick, traps marked; the plan below the steps it is for.

    Parameters
    ----------
    hints : mapping of step to text, optional
        What to look for at each step, in the reader's language.
    """
    made = [_filled(outcome, paper, ruler, hints, workshop, gap_mm=gap_mm)
            for gap_mm in _CLOSER_MM]  # fmt: skip
    pages = next((pages for pages in made if pages.count == 1), made[0])
    if pages.count > 1:  # shared out: no page holds all but a few steps
        for less_mm in _LESS_MM:
            shared = _filled(outcome, paper, ruler, hints, workshop, less_mm=less_mm)
            if shared.count > pages.count:
                break
            pages = shared
        opened = (_filled(outcome, paper, ruler, hints, workshop, gap_mm=gap_mm, size=size)
                  for size, gap_mm in _OPENER)  # fmt: skip
        pages = next((each for each in opened if each.count == pages.count), pages)
    return pages.description()


def _filled(outcome: Outcome, paper: str, ruler: Ruler, hints: Mapping[str, str] | None,
            workshop: Workshop | None, *, gap_mm: float = _GAP_MM, less_mm: float = 0.0,
            size: float = 1.0) -> Pages:  # fmt: skip
    """The pages with steps so far apart and so many times their size, each filled to so much less
    than its height."""
    docket = outcome.docket
    subject = plain(docket.particulars.title) or plain(docket.particulars.unit_number)
    plan = known_plan(docket)
    pages = Pages(paper, ruler, word("steps-title"), subject, workshop, with_bar=plan is not None)
    pages.bottom -= less_mm
    capsule = docket.may_have_capsule
    pages.paragraph(word("steps-cautions" if capsule else "steps-cautions-bare"), SMALL_PT)
    listed = check_list(docket)
    for group, in_group in itertools.groupby(listed, key=lambda step: step.group):
        steps = [(step, plain((hints or {}).get(step.key, ""))) for step in in_group]
        needed = SECTION_MM + sum(_step_mm(pages, hint, gap_mm, size) for _, hint in steps)
        if steps[-1][0] is listed[-1]:  # who signs does not stand on a page alone
            needed += _GROUP_MM + _NAME_MM
        pages.need(min(needed, _MOST_WHOLE_MM * size))
        pages.heading(group_title(group, capsule))
        for step, hint in steps:
            _step(pages, step, hint, gap_mm, size)
        pages.y += _GROUP_MM
        if plan is not None and any(step.key == "dog_against_slot" for step, _ in steps):
            _plan(pages, plan)
    pages.need(_NAME_MM)
    half = pages.room / 2
    pages.add(place_to_write(pages.left, pages.y + 5.2, half - 4.0, word("name"), ruler))
    pages.add(place_to_write(pages.left + half, pages.y + 5.2, half, word("date"), ruler))
    return pages


def group_title(group: str, capsule: bool) -> Content:
    """The heading of a group of steps."""
    bare = group == "plate" and not capsule
    return word(f"steps-{group}-bare" if bare else f"steps-{group}")


def step_title(step: ReassemblyStep) -> Content:
    """What is done at a step; without what this unit has not, or nobody entered."""
    if not step.facts["capsule"] and step.key in ("rotor_post_off", "earth_lead"):
        return word(f"step-{step.key.replace('_', '-')}-bare")
    if step.key == "dog_against_slot" and not step.facts["drive_stated"]:
        return label(Reassembly, "gear_against_slot")
    return label(Reassembly, step.key)


def plan_assumed(plan: SlotPlan) -> list[Content]:
    """What the plan of slot and dog is drawn by that nobody entered, a sentence each."""
    return [word(f"plan-assumed-{key}", lobes=str(plan.lobes)) for key in plan.assumed]


def _hint_lines(pages: Pages, hint: str, size: float) -> int:
    return pages.ruler.lines(hint, _HINT_PT * size, pages.room - _INSET_MM * size) if hint else 0


def _step_mm(pages: Pages, hint: str, gap_mm: float, size: float) -> float:
    lines = _hint_lines(pages, hint, size)
    return (_STEP_MM + _HINT_MM * lines + (0.4 if lines else 0.0)) * size + gap_mm


def _step(pages: Pages, step: ReassemblyStep, hint: str, gap_mm: float, size: float) -> None:
    inset, box, trap = _INSET_MM * size, _BOX_MM * size, _TRAP_MM * size
    room, lines = pages.room - inset, _hint_lines(pages, hint, size)
    pages.need(_step_mm(pages, hint, gap_mm, size))
    y = pages.y
    made: list[Element] = [
        Rect(pages.left, y + 0.2, box, box, 0.35),
        Text(pages.left + inset, y + 3.3 * size, step_title(step), _STEP_PT * size,
             bold=step.trap, room_mm=room - trap),
    ]  # fmt: skip
    if step.done:
        made.append(Marks(((pages.left + box / 2, y + 0.2 + box / 2),), "tick", 2.8 * size,
                          line_mm=0.5))  # fmt: skip
    if step.trap:
        right = pages.left + pages.room
        made.append(Text(right, y + 3.3 * size, word("steps-trap"), SMALL_PT * size, bold=True,
                         align="right", room_mm=trap - 6.0 * size))  # fmt: skip
        made.append(Marks(((right - trap + 6.2 * size, y + 2.6 * size),), "up", 2.4 * size,
                          line_mm=0.35))  # fmt: skip
    if hint:
        made.append(Paragraph(pages.left + inset, y + 6.9 * size, hint, room, lines,
                              _HINT_PT * size, _HINT_MM * size))  # fmt: skip
    pages.add(made)
    pages.y += _step_mm(pages, hint, gap_mm, size)


def _plan(pages: Pages, plan: SlotPlan) -> None:
    """Right, half a turn out, and from the dog's side, at the size of the part."""
    side = 2 * plan.extent_mm
    pages.need(side + 17.0 + 5.0 * len(plan.assumed))
    pages.at_true_size()
    pages.heading(word("plan-heading"))
    pages.paragraph(word("plan-how"), SMALL_PT)
    for assumed in plan_assumed(plan):
        pages.paragraph(assumed, SMALL_PT)
    views: list[tuple[Content, SlotPlan]] = [
        (word("plan-right"), plan),
        (word("plan-wrong"), plan.cam_half_turn_out()),
        (word("plan-over"), plan.turned_over()),
    ]
    pitch = pages.room / len(views)
    if side > pitch - 2.0:  # a part so large: the right one alone
        views, pitch = views[:1], pages.room
    for number, (title, shown) in enumerate(views):
        middle = pages.left + pitch * (number + 0.5)
        pages.add([Text(middle, pages.y + 2.6, title, SMALL_PT, bold=number != 1, align="centre",
                        room_mm=pitch - 4.0)])  # fmt: skip
        pages.add(_drawing(shown, middle, pages.y + 5.0 + side / 2, wrong=number == 1))
    pages.y += side + 5.0


def _drawing(plan: SlotPlan, x: float, y: float, wrong: bool) -> list[Element]:
    """A plan about a place of the page; one put together wrong is crossed out."""

    def at(points: np.ndarray) -> tuple[tuple[float, float], ...]:
        return tuple((x + float(a), y - float(b)) for a, b in points)

    angle = np.linspace(0.0, 2 * pi, 97)
    circle = plan.shaft_mm * np.column_stack([np.cos(angle), np.sin(angle)])
    turn = radians(plan.slot_deg)
    out = np.array([cos(turn), sin(turn)])
    tip, neck = out * plan.extent_mm, out * (plan.extent_mm - 3.0)
    across = np.array([-out[1], out[0]])
    cam = float(np.hypot(*plan.cam.T).max())
    made: list[Element] = [
        Polyline(at(circle), 0.25, (1.5, 1.0)),
        Polygon(at(plan.blade), 0.85, 0.25),
        Polyline(at(np.vstack([plan.cam, plan.cam[:1]])), 0.4),
        Polygon(at(plan.slot), 0.0),
        Line(*at(np.array([out * cam]))[0], *at(np.array([neck]))[0], 0.4),
        Polygon(at(np.array([tip, neck + 1.2 * across, neck - 1.2 * across])), 0.0),
        Line(x - 1.5, y, x + 1.5, y, 0.2),
        Line(x, y - 1.5, x, y + 1.5, 0.2),
    ]
    if wrong:
        reach = 0.8 * plan.extent_mm
        made += [Line(x - reach, y - reach, x + reach, y + reach, 0.5),
                 Line(x - reach, y + reach, x + reach, y - reach, 0.5)]  # fmt: skip
    return made
