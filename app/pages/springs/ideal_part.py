"""What springs to order or wind: the ones with the most margin, and wire and coil for them."""

from __future__ import annotations

from typing import Any

from bobweight.app.editors.form import Form
from bobweight.app.messages.figures import even
from bobweight.app.messages.lacking import refusal
from bobweight.app.pages.springs.acts import (
    add_springs,
    fit_as_altered,
    role_word,
)
from bobweight.app.pages.springs.part import SpringsPart
from bobweight.app.store import RecordStore
from bobweight.app.store.display import Display
from bobweight.app.store.jobs import Runner, Ticket
from bobweight.app.widgets.card import allow, button, card, in_grid
from bobweight.app.widgets.caution_box import cautions
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.table import Column, ReadTable
from bobweight.app.widgets.words import note
from bobweight.app.words import QT_TRANSLATE_NOOP, lower_first, translate, with_unit
from bobweight.core.design.asks import OrderAsk
from bobweight.core.design.fitted import basis, same_places
from bobweight.core.design.ideal import Ideal, IdealLimits, IdealSpring, ideal, looked_over
from bobweight.core.design.tray import TraySpring, from_docket
from bobweight.core.design.winding import Winding
from bobweight.core.design.wire import TensionState
from bobweight.core.docket.docket import Docket
from bobweight.core.figure.overlay import Overlay, OverlayCurve
from bobweight.core.mechanics.predict import predict
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import put
from bobweight.core.units import FORCE, LENGTH, SPRING_RATE


def _winding_columns(display: Display) -> tuple[Column, ...]:
    """A way to wind a spring: wire, coil, coils, stress, and how the tension holds."""

    def unit() -> str:
        return display.unit(LENGTH)

    def wire(winding: Winding) -> str:
        return even(winding.coil.wire_mm, LENGTH, unit())

    def outside(winding: Winding) -> str:
        return even(winding.coil.mean_diameter_mm + winding.coil.wire_mm, LENGTH, unit())

    return (
        Column(translate("springs", "Wire"), wire, True, unit,
               translate("springs", "Diameter of the wire, of the preferred sizes.")),
        Column(translate("springs", "Outside"), outside, True, unit,
               translate("springs", "Outside diameter of the coil.")),
        Column(translate("springs", "Coils"), lambda w: f"{w.coil.body_coils:.1f}", True,
               tip=translate("springs", "Coils of the body, hooks not counted.")),
        Column(translate("springs", "Stress"), lambda w: f"{100 / w.stresses.margin:.0f}", True,
               lambda: translate("springs", "% of limit"),
               translate("springs", "Largest stress in use, as a share of what leaves no set.")),
        Column(translate("springs", "Initial tension"), _tension_held,
               tip=translate("springs", "Whether winders hold the initial tension well.")),
    )  # fmt: skip


def _tension_held(winding: Winding) -> str:
    return {
        TensionState.NONE: translate("springs", "none"),
        TensionState.BELOW: translate("springs", "△ too low to hold"),
        TensionState.PREFERRED: translate("springs", "✓ held well"),
        TensionState.ABOVE: translate("springs", "▲ too high"),
    }[winding.tension_state]


def _as_wound(margin_deg: float, wound_deg: float | None) -> str:
    """The end of the sentence: what the margin becomes with wire that can be had."""
    if wound_deg is None:
        return "."
    said, best = f"{abs(wound_deg):.2f}", f"{abs(margin_deg):.2f}"
    if (wound_deg >= 0) == (margin_deg >= 0):
        if said == best:
            return translate("springs", ", also as they can be wound.")
        return translate("springs", "; as they can be wound {margin}°.").format(margin=said)
    if wound_deg >= 0:
        words = translate("springs", "; as they can be wound they meet it with {margin}° to spare.")
    else:
        words = translate("springs", "; as they can be wound they miss it by {margin}°.")
    return words.format(margin=said)


def _not_held(found: Ideal) -> str:
    """The end of the sentence where winders hold the tension of no winding of a spring: which, and
    what would have to differ; else nothing."""
    too_low = translate("springs", "too low; it would have to be higher, or none")
    too_high = translate("springs", "too high; it would have to be lower")
    neither = translate("springs", "too low or too high; it would have to lie between")
    wrong = {TensionState.BELOW: too_low, TensionState.ABOVE: too_high}
    parts = []
    for spring in found.springs:
        states = {winding.tension_state for winding in spring.windings}
        if states and states <= wrong.keys():
            why = wrong[states.pop()] if len(states) == 1 else neither
            text = translate("springs", "the {role} spring’s initial tension is {why}")
            parts.append(text.format(role=role_word(spring.role), why=why))
    if not parts:
        return ""
    text = translate(
        "springs", ". △ They cannot be wound so: {why}. Another place for the post may do it."
    )
    return text.format(why=translate("springs", ", and ").join(parts))


class IdealPart(SpringsPart):
    """Material, the search behind the window, the two springs and how to wind them."""

    key = "ideal"
    title = QT_TRANSLATE_NOOP("springs", "To order")

    def build(self) -> None:
        self.ask_store = RecordStore(OrderAsk(), self)
        self.runner = Runner(self)
        self.found: Ideal | None = None
        self._of: Docket | None = None
        self.form = Form(
            OrderAsk, (), ("material", "stop_free", "stop_least_deg", "stop_most_deg"),
            self.ask_store, self.display,
        )  # fmt: skip
        self.ask_store.changed.connect(self._ask_changed)
        self.start_button = button(
            translate("springs", "Work out the best springs"),
            translate("springs", "Whatever is in the tray: rates, tension and slack with the most "
                      "margin to the target’s band, and wire for them."),
            self.start,
        )  # fmt: skip
        self.status = note("")
        self.add_card(
            translate("springs", "What to order or wind"), self.form, self.start_button, self.status
        )
        self._cards: dict[str, tuple] = {}
        for role in ("primary", "secondary"):
            self._make_card(role)
        self.fit_button = button(
            translate("springs", "Fit as wound"),
            translate("springs", "The first winding of each, with posts and slack set for it, as "
                      "one edit of the docket."),
            self.fit,
        )  # fmt: skip
        self.tray_button = button(
            translate("springs", "Put in the tray"),
            translate("springs", "The first winding of each, to be ordered: none there yet."),
            self.put_in_tray,
        )
        self._acts = in_grid(2, self.fit_button, self.tray_button)
        self.body.addWidget(self._acts)
        self.body.addWidget(cautions("other springs", self.display))
        self.runner.finished.connect(self._finished)
        self.runner.failed.connect(self._failed)
        self.display.changed.connect(self._show)
        self._ask_changed()

    def _make_card(self, role: str) -> None:
        facts = Facts()
        names = {
            "primary": translate("springs", "Primary spring"),
            "secondary": translate("springs", "Secondary spring"),
        }
        view = ReadTable(
            translate("springs", "Ways to wind it: {spring}").format(
                spring=lower_first(names[role])
            ),
            _winding_columns(self.display), None,
        )  # fmt: skip
        none = note(
            translate(
                "springs",
                "△ No listed wire gives it within its stresses and its length. Another material, "
                "or another place for the post, may.",
            ),
            "advice",
        )
        limit = note(
            translate("springs", "The limit of stress is the most that leaves no set; the initial "
                      "tension is held where winders can.")
        )  # fmt: skip
        frame = card(names[role], facts, view, limit, none)
        self.body.addWidget(frame)
        self._cards[role] = (frame, facts, view, limit, none)

    def _ask_changed(self, _change: object = None) -> None:
        ask: OrderAsk = self.ask_store.docket
        stop = ("stop_least_deg", "stop_most_deg") if ask.stop_free else ()
        self.form.show_only(("material", "stop_free", *stop))

    def follow(self) -> None:
        self._show()

    def start(self) -> None:
        """Work it out behind the window."""
        self.said.say("")
        self._of = self.store.docket
        self.runner.start(self._work)
        self._show()

    def _work(self, _ticket: Ticket) -> Ideal:
        ask: OrderAsk = self.ask_store.docket
        return ideal(required(self._of), IdealLimits(stop_deg=ask.stop_range_deg), ask.material)

    def _finished(self, found: Ideal) -> None:
        self.found = found
        self._show()

    def _failed(self, error: Exception) -> None:
        if not isinstance(error, BobweightError):
            raise error
        self.found = None
        self._show()
        self.said.refuse(error)

    def _show(self) -> None:
        busy, found = self.runner.busy, self.found
        working = translate("springs", "Working it out.")
        docket = self.store.docket
        self._wanting = refusal(lambda: looked_over(docket), docket)
        allow(self.start_button, not (busy or self._wanting), working if busy else self._wanting)
        self.status.setText(self._status_text(busy))
        springs = {spring.role: spring for spring in found.springs} if found is not None else {}
        for role, (frame, facts, view, limit, none) in self._cards.items():
            spring = springs.get(role)
            frame.setVisible(spring is not None)
            if spring is None:
                continue
            facts.show_facts(self._facts_of(spring))
            view.show_rows(spring.windings)
            limit.setVisible(bool(spring.windings))
            none.setVisible(not spring.windings)
        wound = found is not None and found.wound is not None
        self._acts.setVisible(wound)
        same = wound and same_places(required(self._of), self.store.docket)
        other = translate("springs", "The docket has other springs since. Work them out again.")
        allow(self.fit_button, same and not busy, working if busy else other)
        self._show_curves()

    def _status_text(self, busy: bool) -> str:
        if busy:
            return translate("springs", "Working it out.")
        found = self.found
        if found is None and self._wanting:
            return f"○ {self._wanting}"
        if found is None:
            return translate(
                "springs",
                "For the posts, pegs and weights of this docket. The tray is not searched.",
            )
        inside = found.margin_deg >= 0
        text = (
            translate("springs", "✓ Such springs meet the band with {margin}° to spare")
            if inside
            else translate("springs", "✗ No springs meet the whole band; the nearest miss by "
                           "{margin}°")
        ).format(margin=f"{abs(found.margin_deg):.2f}")  # fmt: skip
        text += _not_held(found) or _as_wound(found.margin_deg, found.wound_margin_deg)
        free = self.ask_store.docket.stop_free
        if basis(required(self._of), free) != basis(self.store.docket, free):
            text += " " + translate("springs", "△ The docket has been altered since.")
        return text

    def _facts_of(self, spring: IdealSpring) -> list[tuple[str, str]]:
        def told(value: float, quantity: Any) -> str:
            symbol = self.display.unit(quantity)
            return with_unit(even(value, quantity, symbol), symbol)

        return [
            (translate("springs", "Rate"), told(spring.rate_n_per_mm, SPRING_RATE)),
            (translate("springs", "Initial tension"), told(spring.initial_tension_n, FORCE)),
            (translate("springs", "Free length"), told(spring.free_length_mm, LENGTH)),
            (translate("springs", "Slack"), told(spring.slack_mm, LENGTH)),
            (translate("springs", "Stretched to"),
             told(spring.longest_mm - spring.slack_mm, LENGTH)),
        ]  # fmt: skip

    def _show_curves(self) -> None:
        if not self.isVisible():
            return
        if self.found is None:
            self.feed.show_overlay(None)
            return
        curves = []
        wound = self.found.wound
        for mechanism, strong, words in (
            (self.found.mechanism, wound is None, translate("springs", "best springs")),
            (wound, True, translate("springs", "as wound")),
        ):
            if mechanism is None:
                continue
            branch = predict(mechanism).rising
            curves.append(OverlayCurve(branch.speed_rpm, branch.advance_deg, words, strong))
        self.feed.show_overlay(Overlay(tuple(curves)))

    def fit(self) -> None:
        """Take the springs as wound into the docket, as one edit."""
        if self.found is None or self.found.wound is None:
            return
        made, docket = self.found.wound, self.store.docket
        roles = {spring.role for spring in self.found.springs}
        springs = tuple(
            made.springs[index] if each.role in roles and index < len(made.springs) else each
            for index, each in enumerate(docket.mechanism.springs)
        )
        mechanism = docket.mechanism.with_changes(springs=springs, stop_deg=made.stop_deg)
        name = translate("springs", "Fit the best springs as wound")
        begun = fit_as_altered(self.bench, name, put(docket, ("mechanism",), mechanism))
        said = translate("springs", "Fitted. Undo on the Edit menu takes it back.")
        self.said.say(f"{said} {begun}" if begun else said)

    def put_in_tray(self) -> None:
        """Put the springs as wound into the tray, none of them there yet."""
        if self.found is None or self.found.wound is None:
            return
        entries: list[TraySpring] = []
        for wanted in self.found.springs:
            spring = next(s for s in self.found.wound.springs if s.role == wanted.role)
            label = translate("springs", "To order, {role}").format(role=role_word(wanted.role))
            entries.append(from_docket(spring).with_changes(label=label, count=0))
        add_springs(self.bench, tuple(entries), translate("springs", "Put springs to order in"))
        self.said.say(
            translate("springs", "In the tray with a count of 0. Hang-test them when they come.")
        )

    def close_down(self) -> None:
        self.runner.close()
