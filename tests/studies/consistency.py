"""Consistency study: does any page contradict another?

Everything that is said of a judged docket (answer line, verdict page, table, sheet, lamp card,
command line as text and as JSON) is made from many random dockets and held against the one record
of the decision.

    python -m tests.studies.consistency [N [MINUTES]]
"""

from __future__ import annotations

import itertools
import math
import os
import re
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from bobweight.app.command_line.answers import judged_answer
from bobweight.app.command_line.plain_text import decision_text, verdict_text
from bobweight.app.command_line.verdict import _passes
from bobweight.app.messages.judgement import error_sentences, help_sentence, judgement_sentence
from bobweight.app.words import lower_first
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.view import view_of
from bobweight.core.judgement.answer import (
    CANNOT_BE_TOLD,
    INSIDE,
    LIKELY,
    LOOKS_INSIDE,
    Judgement,
    decision_word,
)
from bobweight.core.judgement.consequences import consequences
from bobweight.core.judgement.decision import Decision, decide_docket
from bobweight.core.judgement.judged import judged_outcome
from bobweight.core.judgement.outcome import Outcome, outcome
from bobweight.core.problems import BobweightError
from tests.studies.results import section, table
from tests.studies.simulator.cases import conscientious, ordinary, rng_of
from tests.studies.simulator.dockets import KINDS
from tests.studies.simulator.misfits import MISFITS, misfit_case
from tests.studies.two_sessions import SCENES, read_twice

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

SIGN_OF = {"inside": "✓", "looks inside": "✓", "outside": "✗", "looks outside": "✗"}
HIGH = {"starts-early", "knee-high", "slope-steep", "stop-far", "all-high"}
_NO_WORDS = re.compile(r"[{}]|\bNone\b(?! of these)|\bnan\b|\binf\b")


def drawn(seed: int) -> Docket:
    """A docket of any kind: sound, faulty, with a misfit, read with care, twice, little, or not at
    all."""
    rng = rng_of("consistency", seed)
    kind = tuple(KINDS)[seed % len(KINDS)]
    manner = int(rng.integers(0, 9))
    if manner == 8:
        return read_twice(str(rng.choice(SCENES)), kind, seed)[0]
    if manner < 2:
        docket = ordinary(kind, seed).docket
    elif manner < 4:
        docket = ordinary(kind, seed, "any").docket
    elif manner < 6:
        docket = misfit_case(str(rng.choice(list(MISFITS))), kind, seed).docket
    else:
        docket = conscientious(kind, seed).docket
    if manner == 7:  # little or nothing was read, or there is no table
        session = docket.sessions[0]
        kept = int(rng.integers(0, 7))
        docket = docket.with_changes(
            sessions=(session.with_changes(readings=session.readings[:kept]),) if kept else ()
        )
        if rng.random() < 0.3:
            docket = docket.with_changes(target=Docket().target)
    return docket


@dataclass
class Said:
    """Everything that is said of one docket."""

    docket: Docket
    known: Outcome
    decision: Decision
    answer: dict[str, Any]
    plain: str
    sheet: str
    card: str
    line: str
    line_sign: str
    page: dict[str, str]
    rows: list[list[str]]
    state: str

    @property
    def judgement(self) -> Judgement:
        """The record."""
        return self.decision.judgement


class Speaker:
    """One window's parts, shown docket after docket."""

    def __init__(self) -> None:
        from bobweight.app.pages.verdict.page import VerdictPage
        from bobweight.app.store import Store
        from bobweight.app.store.display import Display
        from bobweight.app.store.outcome_feed import OutcomeFeed
        from bobweight.app.window.answer_line import AnswerLine

        self.store, self.display = Store(Docket()), Display()
        self.feed = OutcomeFeed(self.store, self.display)
        self.page = VerdictPage(self.store, self.feed, self.display)
        self.line = AnswerLine(self.store, self.feed, self.display)

    def say(self, docket: Docket) -> Said:
        """Everything that is said of a docket."""
        known = outcome(docket)
        decision = decide_docket(docket, known=known)
        self.store.open_docket(docket, None)
        decisions = self.feed.decisions
        decisions._found, decisions._found_for = consequences(decision), decisions._key()
        self.feed.tell()
        self.page.follow()
        self.page.comparison.follow()
        self.line.follow()
        answer = judged_answer(known, decision, "x")
        points = judged_outcome(known, decision.judgement).comparison.all_points
        printed = f"{verdict_text(points, view_of(docket))}\n{decision_text(answer)}"
        return Said(
            docket, known, decision, answer, printed,
            *_printed(known, decision.judgement), self.line.answer.text, self.line.said.text()[:1],
            self._page_texts(), _cells(self.page.comparison.view), self.page.state(),
        )  # fmt: skip

    def _page_texts(self) -> dict[str, str]:
        """What each part of the verdict page says; what is hidden says nothing."""
        parts: dict[str, QWidget] = {type(p).__name__: p for p in self.page.parts}
        found = {name: _shown_texts(part) for name, part in parts.items()}
        found |= {k: getattr(self.page, k).text() for k in ("overall", "action", "helps")}
        return found

    def close(self) -> None:
        """The window closes, its parts before what they follow."""
        from PySide6.QtCore import QCoreApplication, QEvent

        self.line.close_down()
        self.page.close_down()
        for widget in (self.line, self.page):
            widget.close()
            widget.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        self.store.release()


def _shown_texts(part: QWidget) -> str:
    from PySide6.QtWidgets import QLabel

    def shown(label: QLabel) -> bool:
        here: QWidget | None = label
        while here is not None and here is not part.parentWidget():
            if here.isHidden() and here is not getattr(part, "content", None):
                return False
            here = here.parentWidget()
        return True

    if part.isHidden():
        return ""
    return "\n".join(label.text() for label in part.findChildren(QLabel) if shown(label))


def _cells(view: Any) -> list[list[str]]:
    model = view.table_model
    return [
        [str(model.index(r, c).data() or "") for c in range(model.columnCount())]
        for r in range(model.rowCount())
    ]


def _printed(known: Outcome, judgement: Judgement) -> tuple[str, str]:
    """What sheet and lamp card say; empty where there is none."""
    from bobweight.app.paper.output import describe, judged_options
    from bobweight.app.paper.type import FontRuler
    from bobweight.app.paper.words import worded
    from bobweight.core.sheet.engine_sheets import lamp_sheet

    def text(description: Any) -> str:
        words = [
            worded(e.text) for p in description.pages for e in p.elements if hasattr(e, "text")
        ]
        return _flat(" ".join(words))

    options = judged_options(judgement)
    sheet = text(describe(known, options=options))
    try:
        return sheet, text(lamp_sheet(known, "a4", FontRuler(), said=options.said))
    except BobweightError:
        return sheet, ""


def _flat(text: str) -> str:
    return " ".join(text.replace("\u00a0", " ").replace("\u2060", "").split())


# What must hold -----------------------------------------------------------------------------


def contradictions(said: Said) -> Iterator[str]:
    """Every rule that what is said of a docket breaks."""
    j = said.judgement
    whole = [said.plain, said.sheet, said.card, said.line, *said.page.values()]
    if any(_NO_WORDS.search(text) for text in whole):
        yield "a sentence has a hole"
    yield from _one_sentence(said)
    if j.probability_inside is not None:
        yield from _of_the_whole(said)
        yield from _of_the_points(said)
    yield from _of_the_act(said)
    yield from _of_the_next(said)


def _one_sentence(said: Said) -> Iterator[str]:
    sentence = judgement_sentence(said.judgement)
    flat, judged = _flat(sentence), said.judgement.probability_inside is not None
    if said.answer["judgement"]["sentence"] != sentence or sentence not in said.plain:
        yield "the command line has another sentence"
    if said.line != sentence:
        yield "the answer line has another sentence"
    spoken = judged or said.judgement.action == "read-first"
    if spoken and flat not in _flat(said.page["overall"]):
        yield "the verdict page has another sentence"
    if judged and flat not in said.sheet:
        yield "the sheet has another sentence"
    within = f"By the readings: {lower_first(flat)}"
    if judged and said.card and within not in said.card:
        yield "the lamp card has another sentence"


def _of_the_whole(said: Said) -> Iterator[str]:
    j = said.judgement
    word = decision_word(j.probability_inside or 0.0)
    if word == INSIDE and any(r.code.endswith(("rising-not-read", "falling-not-read"))
                              for r in j.reasons):  # fmt: skip
        word = LOOKS_INSIDE  # of a way that nobody read
    if j.decision not in (word, CANNOT_BE_TOLD) or (
        j.decision != word and (j.probability_inside or 0.0) < LIKELY
    ):
        yield "the word is not that of the chance"
    if said.line_sign != SIGN_OF.get(j.decision, "?"):
        yield "the sign is not that of the word"
    states = {"✓": "done", "✗": "wrong"}
    if said.state != states.get(SIGN_OF.get(j.decision, ""), "begun"):
        yield "the strip says another state"
    if _passes(said.answer) != (j.decision in (INSIDE, LOOKS_INSIDE)):
        yield "the exit code says otherwise"
    if j.decision == INSIDE and j.errors:
        yield "inside, and yet it errs"
    outside = j.decision in ("outside", "looks outside")
    cause = judgement_sentence(j)
    if outside and ("Sound (" in cause or "nothing wrong" in cause):
        yield "outside, and nothing wrong"
    named = any(p.decision in ("outside", "looks outside") for p in j.check_points)
    if outside and not named and " at " in cause.split("(inside")[0]:
        yield "outside at a point that is not"
    surely = any(p.decision == "outside" for p in j.check_points)
    where = cause.split("(inside")[0]
    if j.decision == "outside" and not surely and " at " in where and "most likely" not in where:
        yield "outside at a point that only looks it"


def _of_the_points(said: Said) -> Iterator[str]:
    j = said.judgement
    chances = [p.probability_inside for p in j.check_points if p.probability_inside is not None]
    if chances and (j.probability_inside or 0.0) > min(chances) + 1e-9:
        yield "the whole is likelier than one of its points"
    words = {p.decision for p in j.check_points}
    if "outside" in words and j.decision != "outside":
        yield "a point is outside and the whole is not"
    if j.decision == INSIDE and words - {INSIDE}:
        yield "the whole is inside and a point is not"
    rows = judged_outcome(said.known, j).comparison.all_points
    shown = {"cannot be told": "can’t tell", "looks inside": "looks in",
             "looks outside": "looks out"}  # fmt: skip
    for cells, row, p in zip(said.rows, rows, j.check_points, strict=True):
        if p.advance_deg is None:
            continue
        told = "not read" if row.not_read else shown.get(p.decision, p.decision)
        if row.word != p.decision or not cells[1].endswith(told):
            yield "the table has another word than the record"
    checks = [p for p in j.check_points if p.kind == "check"]
    for told, p in zip(said.answer["check_points"], checks, strict=True):
        if p.advance_deg is not None and (
            told["decision"] != p.decision or told["probability_inside"] != p.probability_inside
        ):
            yield "the command line has another word at a point"
    for e in j.errors:
        p = next((p for p in checks if ("target", "points", p.index) == e.path), None)
        if p is None or p.advance_deg is None or p.branch is not None:
            continue
        above = p.advance_deg > 0.5 * (p.low_deg + p.high_deg)
        if above != (e.code in HIGH) or p.decision == INSIDE:
            yield "an error that its check point does not have"


def _of_the_act(said: Said) -> Iterator[str]:
    j, page = said.judgement, said.page
    alone = j.action == "leave-alone"
    if ("Nothing need be done" in said.plain) != alone:
        yield "nothing need be done, and something is"
    if alone and (said.answer["alterations"] or "Inside the whole band:" in page["AlterPart"]):
        yield "left alone, and altered"
    if alone and j.decision not in ("inside", "looks inside"):
        yield "left alone, and not inside"
    if j.action == "alter":
        steps = said.answer["alterations"]
        if not steps or steps[-1]["probability_inside_after"] != j.probability_after:
            yield "another alteration than the one said"
        elif (j.probability_after or 0.0) <= (j.probability_inside or 0.0):
            yield "an alteration that makes it worse"
        if j.decision in ("inside", "looks inside"):
            yield "inside, and to be altered"
    if j.action == "nothing-helps" and (j.probability_after or 0.0) >= LIKELY:
        yield "nothing helps, and something does"
    if said.answer["action"] != j.action:
        yield "the command line does something else"


def _of_the_next(said: Said) -> Iterator[str]:
    j, page = said.judgement, said.page
    reads = [h for h in j.helps_most if h.what.startswith("read")]
    told = f"{page['NextPart']}\n{said.plain}"
    never = "Another reading would not change the decision" in told
    if never and (reads or j.action == "read-more"):
        yield "read more, though it would change nothing"
    if j.action == "read-more" and not reads:
        yield "read more, and no place is named"
    if never and "Take the next reading" in told:
        yield "a reading is asked for and is not"
    if reads and said.decision.advice is not None:
        where = re.search(r"at (.+? rev/min)", help_sentence(reads[0], j).replace("\u00a0", " "))
        if where and where[1] not in told.replace("\u00a0", " "):
            yield "two places for the next reading"
    for sentence in error_sentences(j):
        if sentence not in said.plain or (page["overall"] and sentence not in page["action"]):
            yield "an error is told in one place only"
    if j.errors and _flat(error_sentences(j)[0]) not in said.sheet:
        yield "an error is not on the sheet"


def findings(
    seeds: Iterable[int], minutes: float = math.inf
) -> tuple[Counter, dict[str, list[int]], Counter]:
    """Broken rules by name, the seeds of each, and how often each word and act was said; as many
    dockets as there is time for."""
    ends = time.monotonic() + 60.0 * minutes
    speaker = Speaker()
    broken: Counter = Counter()
    where: dict[str, list[int]] = {}
    spread: Counter = Counter()
    try:
        for seed in itertools.takewhile(lambda _: time.monotonic() < ends, seeds):
            said = speaker.say(drawn(seed))
            spread[f"{said.judgement.decision}, {said.judgement.action}"] += 1
            for name in set(contradictions(said)):
                broken[name] += 1
                where.setdefault(name, []).append(seed)
    finally:
        speaker.close()
    return broken, where, spread


def main(count: int, minutes: float) -> None:
    """Draw, say, compare, write."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    from PySide6.QtWidgets import QApplication

    application = QApplication.instance() or QApplication([])
    assert application is not None
    with section("consistency", "No page contradicts another", "from 0 on") as out:
        broken, where, spread = findings(range(count), minutes)
        judged = sum(spread.values())
        out(f"{judged} judged dockets (of {count}); {sum(broken.values())} contradictions.\n")
        out(table(("decision, act", "dockets"), spread.most_common()))
        if broken:
            rows = [(name, n, where[name][:12]) for name, n in broken.most_common()]
            out("\n" + table(("contradiction", "dockets", "seeds"), rows))


if __name__ == "__main__":
    asked = [float(a) for a in sys.argv[1:3]]
    main(int(asked[0]) if asked else 500, asked[1] if len(asked) > 1 else math.inf)
    sys.stdout.flush()
    os._exit(0)  # a process that ends with living widgets may crash in their clean-up
