"""A spring from its dimensions: rate, range of initial tension, stress, whether it takes a set."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import amount_u
from bobweight.app.messages.lacking import curve_needs
from bobweight.app.pages.springs.part import Bench
from bobweight.app.store import RecordStore
from bobweight.app.theme import set_role
from bobweight.app.widgets.card import allow, button, in_grid, stacked
from bobweight.app.widgets.lines import Facts
from bobweight.app.widgets.words import note
from bobweight.app.words import amount, significant, translate
from bobweight.core.design.asks import WorkingLength
from bobweight.core.design.measured_spring import (
    CoilView,
    coil_view,
    longest_mm,
    taken_from_coil,
    with_spring,
)
from bobweight.core.design.tray import TraySpring
from bobweight.core.design.wire import SetRisk, Stresses, TensionState
from bobweight.core.docket.spring_source import CoilRecord
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.units import FORCE, LENGTH, SPRING_RATE


class CoilPart(QWidget):
    """The dimensions, and what follows from them at once."""

    def __init__(self, bench: Bench, row: int) -> None:
        super().__init__()
        self._bench = bench
        self._row = row
        self._view: CoilView | None = None
        self.working_store = RecordStore(WorkingLength(), self)
        how = note(
            translate(
                "springs",
                "The rate goes with the fourth power of the wire: measure the bare wire with a "
                "micrometer, in three places.",
            )
        )
        self.form = Form(CoilRecord, self._prefix(), plain_keys(CoilRecord), bench.tray,
                         bench.display)  # fmt: skip
        self.working = Form(WorkingLength, (), ("working_mm",), self.working_store, bench.display)
        self.docket_button = button(
            translate("springs", "Stretched as far as in this docket"),
            translate("springs", "The longest that the docket’s mechanism stretches such a "
                      "spring, at the stop."),
            self.take_working,
        )  # fmt: skip
        self.wrong = note("", "wrong")
        self.facts = Facts()
        self.set_risk = note("")
        self.rate_button = button(
            translate("springs", "Take the rate"),
            translate("springs", "The rate with its uncertainty; the free length too if none is "
                      "known."),
            self.take_rate,
        )  # fmt: skip
        self.both_button = button(
            translate("springs", "Take rate and tension"),
            translate("springs", "The tension from the middle of the range that winders hold."),
            self.take_both,
        )
        buttons = in_grid(2, self.rate_button, self.both_button)
        stacked(
            self, how, self.form, self.working, self.docket_button, self.wrong, self.facts,
            self.set_risk, buttons, spacing=8,
        )  # fmt: skip
        self.working_store.changed.connect(self._working_changed)
        self.follow(row)

    def _prefix(self) -> tuple:
        return ("springs", self._row, "source", "coil")

    @property
    def _spring(self) -> TraySpring:
        return self._bench.tray.tray.springs[self._row]

    def follow(self, row: int) -> None:
        """Show the spring in a row."""
        if row != self._row:
            self._row = row
            self.form.set_prefix(self._prefix())
        record = self._spring.source.coil
        keys = [key for key in plain_keys(CoilRecord) if key != "hook_coils"]
        self.form.show_only((*keys, "hook_coils") if record.hook_rule == "stated" else keys)
        allow(
            self.docket_button,
            self._longest() is not None,
            curve_needs(self._bench.feed.outcome, self._bench.feed.decisions.doubts)
            or translate("springs", "This docket has no primary or secondary spring."),
        )
        try:
            self._view = coil_view(self._spring, self.working_store.docket.working_mm)
            wrong = ""
        except BobweightError as error:
            self._view = None
            touched = record != CoilRecord()
            wrong = "▲ " + sentence(error.problem, self._spring.source, self._bench.display)
            wrong = wrong if touched else ""
        self.wrong.show_text(wrong)
        self._show()

    def _show(self) -> None:
        view = self._view
        first = translate("springs", "First comes the rate: wire, coil diameter and coils give it.")
        for made in (self.rate_button, self.both_button):
            allow(made, view is not None, first)
        self.set_risk.setVisible(view is not None and view.stresses is not None)
        if view is None:
            self.facts.show_facts(())
            if self.wrong.isHidden():  # else that says why there is no rate
                self.set_risk.show_text(f"○ {first}")
                set_role(self.set_risk, "faint")
            return
        display = self._bench.display
        low, high = (amount(float(f"{v:.3g}"), FORCE, display.unit(FORCE))
                     for v in view.tension_range_n)  # fmt: skip
        coils = significant(view.coil.active_coils, 4)
        facts = [
            (translate("springs", "Rate"),
             amount_u(view.rate_n_per_mm, view.u_rate_n_per_mm, SPRING_RATE, display)),
            (translate("springs", "Active coils"), coils),
            (translate("springs", "Coil to wire"), significant(view.coil.index, 3)),
            (translate("springs", "Free length of body and plain loops"),
             amount_u(view.coil.free_length_mm, None, LENGTH, display)),
            (translate("springs", "Winders hold a tension"),
             translate("springs", "from {low} to {high}").format(low=low, high=high)),
        ]  # fmt: skip
        tension = self._tension_text(view)
        if tension:
            facts.append((translate("springs", "Its tension"), tension))
        if view.stresses is not None:
            facts += self._stress_facts(view.stresses)
            self._show_risk(view.stresses)
        self.facts.show_facts(facts)

    def _tension_text(self, view: CoilView) -> str:
        return {
            TensionState.NONE: "",
            TensionState.BELOW: translate("springs", "△ lower than winders hold well"),
            TensionState.PREFERRED: translate("springs", "✓ within what winders hold"),
            TensionState.ABOVE: translate("springs", "▲ higher than winders hold"),
        }[view.coil.tension_state]

    def _stress_facts(self, stresses: Stresses) -> list[tuple[str, str]]:
        display = self._bench.display
        text = translate("springs", "{stress} MPa, {share} % of what leaves no set")

        def told(stress: float, margin: float) -> str:
            share = 100 / margin if margin > 0 else 0.0
            return text.format(stress=f"{stress:.0f}", share=f"{share:.0f}")

        wahl = translate("springs", "{stress} MPa").format(stress=f"{stresses.body_wahl_mpa:.0f}")
        return [
            (translate("springs", "Pull there"),
             amount(float(f"{stresses.force_n:.3g}"), FORCE, display.unit(FORCE))),
            (translate("springs", "Body (Bergsträsser)"),
             told(stresses.body_mpa, stresses.body_margin)),
            (translate("springs", "Body (Wahl)"), wahl),
            (translate("springs", "Hook, bending"),
             told(stresses.hook_bending_mpa, stresses.hook_bending_margin)),
            (translate("springs", "Hook, torsion"),
             told(stresses.hook_torsion_mpa, stresses.hook_torsion_margin)),
        ]  # fmt: skip

    def _show_risk(self, stresses: Stresses) -> None:
        where = {
            "body": translate("springs", "the body"),
            "hook-bending": translate("springs", "the hook, in bending"),
            "hook-torsion": translate("springs", "the hook, where it leaves the body"),
        }[stresses.weakest]
        text, role = {
            SetRisk.HOLDS: (
                translate("springs", "✓ It keeps its length. Nearest to a set: {where}."), "faint"
            ),
            SetRisk.MAY_SET: (
                translate(
                    "springs",
                    "△ It may take a permanent set at {where}. Stretch it less, or take "
                    "thicker wire and more coils.",
                ),
                "advice",
            ),
            SetRisk.SETS: (
                translate(
                    "springs",
                    "▲ It will take a permanent set at {where}. Stretch it less, or take "
                    "thicker wire and more coils.",
                ),
                "wrong",
            ),
        }[stresses.risk]  # fmt: skip
        self.set_risk.setText(text.format(where=where))
        set_role(self.set_risk, role)

    def _longest(self) -> float | None:
        """What the docket stretches a spring of this kind to: that of the same label, else of the
        role it is likelier to have (both are tried, the longer one counts)."""
        if self._bench.feed.outcome.prediction is None:
            return None
        mechanism = self._bench.store.docket.mechanism
        label = self._spring.label.strip()
        roles = [s.role for s in mechanism.springs if label and s.label.strip() == label]
        lengths = [longest_mm(mechanism, r) for r in roles or ("primary", "secondary")]
        return max((length for length in lengths if length is not None), default=None)

    def take_working(self) -> None:
        """Take the longest length of the docket's mechanism."""
        longest = self._longest()
        if longest is not None:
            name = translate("springs", "Stretched as in the docket")
            self.working_store.edit(name, ("working_mm",), round(longest, 2))

    def take_rate(self) -> None:
        """Give the spring the rate."""
        self._take(False)

    def take_both(self) -> None:
        """Give the spring rate and middle tension."""
        self._take(True)

    def _take(self, middle_tension: bool) -> None:
        if self._view is None:
            return
        tray = self._bench.tray
        try:
            made = taken_from_coil(self._spring, self._view, middle_tension)
        except BobweightError as error:
            self.wrong.setText("▲ " + sentence(error.problem, self._spring, self._bench.display))
            self.wrong.show()
            return
        rows = with_spring(tray.tray.springs, self._row, made)
        name = translate("springs", "Take the figures of the dimensions")
        tray.replace(name, put(tray.tray, ("springs",), rows))

    def _working_changed(self, _change: object) -> None:
        self.follow(self._row)
