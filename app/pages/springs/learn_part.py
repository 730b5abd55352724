"""A mechanism learnt from one run with two known springs, step by step."""

from __future__ import annotations

from bobweight.app.editors.entry import Lines
from bobweight.app.messages import spring_name
from bobweight.app.messages.figures import session_name
from bobweight.app.pages.springs.part import SpringsPart
from bobweight.app.store.jobs import Runner, Ticket
from bobweight.app.widgets.card import allow, button
from bobweight.app.widgets.choice import QuietComboBox
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.words import note
from bobweight.app.words import (
    QT_TRANSLATE_NOOP,
    amount,
    counted,
    significant,
    translate,
    with_unit,
)
from bobweight.core.design.learn import LearntRun, learn
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.overlay import Overlay, OverlayCurve
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.places import spring_needs
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import put
from bobweight.core.units import TORQUE


@frozen
class LearningStep:
    """One thing that is needed: what it is, whether it is there, and what there is."""

    done: bool
    text: str


def steps(docket: Docket, session: int) -> list[LearningStep]:
    """What learning needs of a docket and how far each is there."""
    springs = docket.mechanism.springs
    lacking = [
        spring_name(docket, index)
        for index, spring in enumerate(springs)
        if spring.rate_n_per_mm is None or spring.free_length_mm is None
    ]
    unplaced = [
        spring_name(docket, index)
        for index, spring in enumerate(springs)
        if any(getattr(spring, key) is None for key in spring_needs(spring)[2:])
    ]
    return [_springs_step(springs, lacking), _places_step(springs, unplaced), _stop_step(docket),
            _readings_step(docket, session)]  # fmt: skip


def _springs_step(springs: tuple, lacking: list[str]) -> LearningStep:
    if not springs:
        text = translate("springs", "Fit two springs that are known: use two from the tray.")
        return LearningStep(False, text)
    if lacking:
        text = translate(
            "springs", "Springs of which rate or free length is not known yet: {names}."
        )
        return LearningStep(False, text.format(names=", ".join(lacking)))
    text = translate("springs", "Springs: {count}, each with its rate and free length.")
    return LearningStep(True, text.format(count=len(springs)))


def _places_step(springs: tuple, unplaced: list[str]) -> LearningStep:
    if any(spring.hangs_on_weight for spring in springs):
        text = translate(
            "springs",
            "Pegs: only springs from the plate to the cam foot can be learnt with; here a peg is "
            "on a weight.",
        )
        return LearningStep(False, text)
    if not springs or unplaced:
        text = translate(
            "springs", "Posts and pegs: measure radius and angle of each, for {names}."
        )
        names = ", ".join(unplaced) or translate("springs", "every spring")
        return LearningStep(False, text.format(names=names))
    return LearningStep(True, translate("springs", "Posts and pegs: all measured."))


def _stop_step(docket: Docket) -> LearningStep:
    stop = docket.mechanism.stop_deg
    if stop is None:
        return LearningStep(False, translate("springs", "Stop: measure how far the cam turns."))
    text = translate("springs", "Stop: {stop}° at the distributor.")
    return LearningStep(True, text.format(stop=significant(stop, 3)))


def _readings_step(docket: Docket, session: int) -> LearningStep:
    there = 0 <= session < len(docket.sessions)
    readings = docket.sessions[session].readings if there else ()
    used = [
        r for r in readings
        if not r.left_out and r.depression_kpa is None and None not in (r.speed_rpm, r.angle_deg)
    ]  # fmt: skip
    if not used:
        text = translate(
            "springs",
            "Run: take the curve with these springs, up and down, pipe off, every 250 rev/min of "
            "the engine, on the Readings page.",
        )
        return LearningStep(False, text)
    one = translate("springs", "Run: one reading with the pipe off.")
    many = translate("springs", "Run: {count} readings with the pipe off.")
    return LearningStep(True, counted(len(used), one, many))


class LearnPart(SpringsPart):
    """What is needed, the run, what it teaches, and taking it."""

    key = "learn"
    title = QT_TRANSLATE_NOOP("springs", "From a run")

    def build(self) -> None:
        self.runner = Runner(self)
        self.learned: LearntRun | None = None
        self._of: Docket | None = None
        self._session = -1
        self.why = note(
            translate(
                "springs",
                "Without a drawing of the weights: one run with two known springs shows how hard "
                "the weights pull at every advance. From then on any other pair of springs can be "
                "predicted, and how surely.",
            )
        )
        self.need = [note("") for _ in range(4)]
        self.add_card(translate("springs", "1  What is needed"), self.why, *self.need)
        self.box = QuietComboBox(14)
        self.box.setAccessibleName(translate("springs", "The run to learn from"))
        self.box.activated.connect(self._chosen)
        row = Lines()
        row.add(translate("springs", "Run"), self.box)
        self.start_button = button(
            translate("springs", "Learn from this run"),
            translate("springs", "Works out the pull of the weights from readings and springs."),
            self.start,
        )
        self.status = note("")
        self.add_card(translate("springs", "2  The run"), row, self.start_button, self.status)
        self.facts = Facts()
        self.take_note = note(
            translate(
                "springs",
                "Taking it makes the linkage of this docket a learnt one; weights and linkage as "
                "measured are kept in the docket. Undo on the Edit menu takes it back.",
            )
        )
        self.take_button = button(
            translate("springs", "Use the learnt mechanism"),
            translate("springs", "One edit of the docket."), self.take,
        )  # fmt: skip
        self._result = self.add_card(
            translate("springs", "3  What it shows"), self.facts, self.take_note, self.take_button
        )
        self.next_note = note(
            translate(
                "springs",
                "Put other springs in: use one of the tray as primary or secondary, or search the "
                "tray. The curve, its band under Tolerance, and the search all reckon with the "
                "learnt pull and its uncertainty.",
            )
        )
        self.search_button = button(
            translate("springs", "To the search"),
            translate("springs", "Every pair of the tray, with the learnt mechanism."),
            self._to_search,
        )
        self._next = self.add_card(
            translate("springs", "4  Other springs"), self.next_note, self.search_button
        )
        self.runner.finished.connect(self._finished)
        self.runner.failed.connect(self._failed)

    def follow(self) -> None:
        docket = self.store.docket
        titles = [session_name(docket, k) for k in range(len(docket.sessions))]
        if titles != [self.box.itemText(k) for k in range(self.box.count())]:
            self.box.clear()
            self.box.addItems(titles)
            self._session = len(titles) - 1
        if not 0 <= self._session < len(titles):
            self._session = len(titles) - 1
        self.box.setCurrentIndex(self._session)
        found = steps(docket, self._session)
        for label, step in zip(self.need, found, strict=True):
            label.setText(("✓ " if step.done else "○ ") + step.text)
        ready = all(step.done for step in found)
        needed = "" if ready else translate("springs", "Every step above must be done first.")
        busy = self.runner.busy
        wait = translate("springs", "It is being learnt.") if busy else needed
        allow(self.start_button, ready and not busy, wait)
        self._show(needed)

    def _chosen(self, index: int) -> None:
        self._session = index
        self.follow()

    def start(self) -> None:
        """Learn behind the window."""
        self.said.say("")
        self.learned = None
        self._of = self.store.docket
        self.runner.start(self._work)
        self.follow()

    def _work(self, _ticket: Ticket) -> LearntRun:
        return learn(required(self._of), self._session)

    def _finished(self, learned: LearntRun) -> None:
        self.learned = learned
        self.follow()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BobweightError):
            raise error
        self.follow()
        self.said.refuse(error)

    def _show(self, needed: str) -> None:
        learned = self.learned
        taken = self.store.docket.mechanism.linkage.kind == "learned"
        self._result.setVisible(learned is not None)
        self._next.setVisible(taken)
        if self.runner.busy:
            self.status.setText(translate("springs", "Learning."))
        elif learned is None:
            self.status.setText(
                translate("springs", "This docket’s mechanism is a learnt one already.")
                if taken
                else needed or translate("springs", "Ready.")
            )
        else:
            text = translate("springs", "Learnt from {count} readings.")
            self.status.setText(text.format(count=len(learned.readings)))
        if learned is not None:
            self.facts.show_facts(self._facts_of(learned))
            done = self.store.docket.mechanism.linkage == learned.mechanism.linkage
            allow(self.take_button, not done,
                  translate("springs", "The docket reckons with it already."))  # fmt: skip
        self._show_curve()

    def _facts_of(self, learned: LearntRun) -> list[tuple[str, str]]:
        least, most = (100 * float(v) for v in (min(learned.relative_u), max(learned.relative_u)))
        sure = translate("springs", "± {least} to ± {most} %")
        worst = int(abs(learned.distances).argmax())
        off = translate("springs", "No. {row}: {times} times its ± from the learnt curve")
        stick = with_unit(
            f"{learned.stick_nmm:.1f} ± {learned.u_stick_nmm:.1f}", TORQUE.stored.symbol
        )
        prediction = predict(learned.mechanism)
        starts = translate("springs", "{speed} rev/min").format(
            speed=self.display.view(required(self._of)).speed(prediction.start_rpm)
        )
        return [
            (translate("springs", "Pull of the weights"),
             sure.format(least=significant(least, 2), most=significant(most, 2))),
            (translate("springs", "Scatter"),
             translate("springs", "{ratio} times as stated").format(
                 ratio=significant(learned.scatter, 2))),
            (translate("springs", "Furthest reading"),
             off.format(row=int(learned.readings[worst]) + 1,
                        times=significant(abs(float(learned.distances[worst])), 2))),
            (translate("springs", "Fixed friction"), stick),
            (translate("springs", "Starts at"), starts),
        ]  # fmt: skip

    def _show_curve(self) -> None:
        if not self.isVisible():
            return
        overlay = None
        taken = self.learned is not None and (
            self.store.docket.mechanism.linkage == self.learned.mechanism.linkage
        )
        if self.learned is not None and not taken:
            branch = predict(self.learned.mechanism).rising
            words = translate("springs", "learnt")
            overlay = Overlay((OverlayCurve(branch.speed_rpm, branch.advance_deg, words, True),))
        self.feed.show_overlay(overlay)

    def take(self) -> None:
        """Take the learnt mechanism into the docket, as one edit."""
        if self.learned is None:
            return
        docket = self.store.docket
        made = self.learned.mechanism
        mechanism = docket.mechanism.with_changes(
            linkage=made.linkage, stick_nmm=made.stick_nmm,
            u={**docket.mechanism.u, "stick_nmm": made.u["stick_nmm"]},
        )  # fmt: skip
        name = translate("springs", "Use the mechanism learnt from the run")
        self.store.replace(name, put(docket, ("mechanism",), mechanism))
        text = translate("springs", "The docket now reckons with the learnt pull. Stick: {stick}.")
        stick = amount(float(f"{made.stick_nmm:.3g}"), TORQUE)
        self.said.say(text.format(stick=stick))

    def _to_search(self) -> None:
        self.bench.part_asked.emit("search")

    def close_down(self) -> None:
        self.runner.close()
