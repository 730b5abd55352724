"""What the prints say of a unit: what is so, where it is known, and nothing that it has not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bobweight.app.paper.output import describe
from bobweight.app.paper.words import worded
from bobweight.app.prints.kinds import KINDS, Asked
from bobweight.core.bench.tape import tape_for
from bobweight.core.docket.docket import Docket, new_docket
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.outcome import outcome
from bobweight.core.sheet.description import Description, Marks, Text
from bobweight.core.sheet.workshop import Workshop
from tests.samples import sample
from tests.sheet.measuring import texts

pytestmark = pytest.mark.usefixtures("qapp")


def printed(kind: str, docket: Docket, paper: str = "a4") -> Description:
    judged = outcome(docket)
    view = view_of(docket)
    if kind == "sheet":
        return describe(judged, paper, view)
    asks = KINDS[kind].asks
    asked = Asked(judged, view, paper, Workshop())
    return KINDS[kind].describe(asked, asks(docket) if asks else None)


def said(made: Description) -> str:
    return "\n".join(words for page in made.pages for words, _, _ in texts(page))


@pytest.mark.parametrize("kind", ["card", "session", "steps"])
@pytest.mark.parametrize("name", ["tractor_four", "motorcycle_twin"])
def test_a_unit_without_a_capsule_reads_nothing_of_one(kind: str, name: str) -> None:
    told = said(printed(kind, sample(name))).lower()
    for word in ("pipe", "capsule", "vacuum", "plugged", "kpa"):
        assert word not in told
    assert "capsule" in said(printed("steps", sample("small_four"))).lower()


def test_setting_up_without_a_capsule_has_no_depression() -> None:
    told = said(printed("sheet", sample("tractor_four"), "letter"))
    assert "Driving state" in told and "Lamp shows" in told
    assert "kPa" not in told and "Pipe off" not in told


def test_what_nobody_entered_is_not_printed_as_a_fact() -> None:
    told = said(printed("steps", new_docket()))
    for words in ("clockwise", "4 lobes", "The light one and the heavy one"):
        assert words not in told
    assert "was not entered" in told
    entered = said(printed("steps", sample("weak_primary")))
    assert "This unit turns clockwise" in entered and "4 lobes" in entered


def test_springs_of_one_kind_are_not_told_apart() -> None:
    assert "However alike" in said(printed("steps", sample("tractor_four")))
    assert "The light one and the heavy one" in said(printed("steps", sample("small_four")))


def test_idle_is_one_figure_on_card_and_sheet() -> None:
    """The sample whose advance has begun at idle, on its way down."""
    docket = sample("straight_six")
    assert "11.8° at 800 rev/min, falling" in said(printed("card", docket))
    rows = said(printed("sheet", docket)).splitlines()
    idle = rows.index("Idle")
    assert rows[idle + 1 : idle + 4] == ["800", "55", "11.8"]


def test_a_tape_reaches_what_its_docket_can_show() -> None:
    """10° static, 14° at the distributor by the stop, 15° by the ceiling of the target, 9° by the
    capsule: 58 at the crank."""
    spec = tape_for(sample("straight_six"))
    assert (spec.side, spec.span_deg) == ("before", 60.0)
    assert tape_for(new_docket()).span_deg == 40.0
    late = replace(sample("retard_capsule"), setting_up=replace(
        sample("retard_capsule").setting_up, static_deg=2.0))  # fmt: skip
    assert tape_for(late).side == "both"


def test_a_prediction_outside_its_band_has_the_sign_of_what_is_outside() -> None:
    docket = sample("weak_primary")
    points = tuple(
        replace(p, least_deg=p.least_deg + 30.0, most_deg=p.most_deg + 30.0)
        if n == 2 else p for n, p in enumerate(docket.target.points)
    )  # fmt: skip
    asked = replace(docket, target=replace(docket.target, points=points))
    before, after = (said(printed("card", d)).count("✗") for d in (docket, asked))
    assert after - before == 2, "rising and falling"
    signs = []
    for each in (docket, asked):
        page = printed("sheet", each).pages[0]
        words = [e for e in page.elements if isinstance(e, Text) and e.bold]
        outside = sum(worded(e.text) in ("outside", "looks out") for e in words)
        crosses = [e for e in page.elements if isinstance(e, Marks) and e.shape == "cross"
                   and e.size_mm == 2.0]  # fmt: skip
        signs.append(len(crosses) - outside)
    assert signs[1] == signs[0] + 1


def test_a_ring_says_what_a_mark_is_worth() -> None:
    made = said(printed("ring", sample("small_four")))
    assert "From mark to mark is 1° of the distributor" in made.replace("\n", " ")
