"""Static and total, the card to take to the engine, and the driving states."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

import numpy as np
from PySide6.QtCore import QObject
from PySide6.QtWidgets import QPushButton

from bobweight.app.editors.form import Form
from bobweight.app.editors.number import NumberField
from bobweight.app.editors.table import RecordTable
from bobweight.app.messages import sentence
from bobweight.app.messages.figure_words import said
from bobweight.app.messages.figures import degrees
from bobweight.app.paper.words import worded
from bobweight.app.theme import theme_for
from bobweight.app.widgets.card import allow, in_row
from bobweight.app.widgets.print_button import PrintButton
from bobweight.app.widgets.table import Cell, FigureTable
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.widgets.worked_out import from_docket
from bobweight.app.words import amount, translate
from bobweight.core.bench.setting import (
    LampCard,
    StaticSetting,
    advance_at_idle_deg,
    full_travel_height_m,
    lamp_card,
    pulls_most,
    state_totals,
    static_for_total,
    total_for_static,
)
from bobweight.core.docket.setting_up import USUAL_STATES, DrivingState, LampSpeed, SettingUp
from bobweight.core.figure.description import word
from bobweight.core.figure.numbers import span, typed
from bobweight.core.mechanics.predict import whole_rpm
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from bobweight.core.units import ALTITUDE, DEPRESSION

if TYPE_CHECKING:
    from bobweight.app.pages.setting_up import SettingUpPage
    from bobweight.core.docket.docket import Docket
    from bobweight.core.judgement.outcome import Outcome
    from bobweight.core.mechanics.predict import Prediction

_ROOT = ("setting_up",)


def _full_rpm(docket: Docket, prediction: Prediction) -> float:
    """Engine speed of full advance, at which a total stands where no other is asked for."""
    return round(whole_rpm(prediction.full_rpm) * docket.particulars.ratio_taken)


class StaticSection(QObject):
    """Static from the wanted total, or the total from the static."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        keys = ("static_deg", "wanted_total_deg", "wanted_rpm", "wanted_kpa", "idle_rpm")
        made = Form(SettingUp, _ROOT, keys, page.store, page.display)
        self.speed = cast(NumberField, made.fields["wanted_rpm"])
        self.total = AnswerLabel()
        self.static = AnswerLabel()
        self.idle = AnswerLabel()
        self.take_button = QPushButton()
        self.take_button.clicked.connect(self.take_static)
        self.worked = from_docket("setting", page.store, page.display)
        self.group = page.add_group(
            translate("pages", "Static and total, at the crank"), made, self.total, self.static,
            self.take_button, self.idle, self.worked,
        )  # fmt: skip

    def follow(self) -> None:
        """The docket or its curve changed. Each is told what it says once: what is hidden and shown
        again has all of the page laid out twice."""
        docket, prediction = self.page.store.docket, self.page.feed.outcome.prediction
        self.speed.show_used(None if prediction is None else _full_rpm(docket, prediction))
        found = None if prediction is None else self._found(docket, prediction)
        self.total.setText("" if prediction is None else self._total_text(found))
        wanted = None if prediction is None else self._wanted(docket, prediction)
        self.take_button.setVisible(wanted is not None)
        self.worked.follow((found, wanted) != (None, None))
        if wanted is None:
            self.static.setText("")
        else:
            text = translate("pages", "A total of {total} at {where} wants static {static}.")
            static = f"{typed(wanted.static_deg)}°"
            total, where = degrees(wanted.total_deg), self._where(wanted)
            self.static.setText(text.format(total=total, where=where, static=static))
            text = translate("pages", "Set static to {static}")
            self.take_button.setText(text.format(static=static))
        idle = None if prediction is None else advance_at_idle_deg(docket, prediction)
        self._show_idle(idle)

    def _found(self, docket: Docket, prediction: Prediction) -> StaticSetting | None:
        """The total that the static gives; None where none is entered."""
        try:
            return total_for_static(docket, prediction)
        except BobweightError:
            return None

    def _total_text(self, found: StaticSetting | None) -> str:
        if found is None:
            return translate("pages", "Type the static timing, or the total wanted.")
        return translate("pages", "Static {static} gives {total} at {where}.").format(
            static=f"{typed(found.static_deg)}°", total=degrees(found.total_deg),
            where=self._where(found),
        )  # fmt: skip

    def _wanted(self, docket: Docket, prediction: Prediction) -> StaticSetting | None:
        """What the total wanted wants; None where none is, or the static there is gives it."""
        try:
            wanted = static_for_total(docket, prediction)
        except BobweightError:
            return None
        now = docket.setting_up.static_deg
        same = now is not None and abs(now - wanted.static_deg) <= 0.05
        return None if same else wanted

    def _where(self, found: StaticSetting) -> str:
        """Speed and depression at which a total holds."""
        speed = f"{found.engine_rpm:.0f}"
        if not found.depression_kpa:
            return translate("pages", "{speed} engine rev/min").format(speed=speed)
        held = amount(found.depression_kpa, DEPRESSION, self.page.display.depression_unit)
        text = translate("pages", "{speed} engine rev/min with {depression}")
        return text.format(speed=speed, depression=held)

    def _show_idle(self, begun_deg: float | None) -> None:
        if begun_deg is None:
            self.idle.setText("")
        elif begun_deg > 0.05:
            text = translate(
                "pages",
                "At idle the advance has already begun ({begun}). Set the base timing lower, or "
                "count it in.",
            )
            self.idle.say(text.format(begun=degrees(begun_deg)), "advice")
        else:
            self.idle.say(translate("pages", "At idle the advance has not begun."))

    def take_static(self) -> None:
        """Set the static timing that gives the wanted total, as one edit."""
        store, prediction = self.page.store, self.page.feed.outcome.prediction
        if prediction is None:
            return
        static = round(static_for_total(store.docket, prediction).static_deg, 1)
        name = translate("pages", "Set static to {static}").format(static=degrees(static))
        store.replace(name, put(store.docket, (*_ROOT, "static_deg"), static))


class CardSection(QObject):
    """What the lamp must show, as a card to take to the engine."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        self.card: LampCard | None = None
        self.pipe = Form(SettingUp, _ROOT, ("lamp_kpa",), page.store, page.display)
        self.speeds = RecordTable(
            page.store, (*_ROOT, "lamp_speeds"), ("engine_rpm",), page.display,
            name=translate("pages", "Speeds of the card"),
        )  # fmt: skip
        self.table = FigureTable(translate("pages", "What the lamp must show"), [""] * 6, True)
        self.said = AnswerLabel("faint")
        own = AnswerLabel("faint")
        own.setText(translate("pages", "Other speeds for the card, if you want your own:"))
        self.print_button = PrintButton(
            "card", translate("pages", "Print the card…"),
            translate("pages", "Large figures for the engine, with room to write beside them."),
        )  # fmt: skip
        self.tape_button = PrintButton(
            "tape", translate("pages", "Print a timing tape…"),
            translate("pages", "At true size, for the rim of the pulley."),
        )  # fmt: skip
        self.group = page.add_group(
            translate("pages", "What the lamp must show, crank degrees"), self.table, self.said,
            self.pipe, own, self.speeds, in_row(self.print_button, self.tape_button),
        )  # fmt: skip
        assert LampSpeed is self.speeds.model.record_type

    def follow(self) -> None:
        """The docket, its curve or the session changed."""
        docket, outcome = self.page.store.docket, self.page.feed.outcome
        self.card = None
        self.pipe.setVisible(docket.has_capsule)
        self._fill(docket, outcome)
        allow(self.print_button, self.card is not None, self.page.lacks or self.said.text())
        held = None if self.card is None else self.card.depression_kpa
        pipe = cast(NumberField, self.pipe.fields["lamp_kpa"])
        pipe.show_used(None if held is None else float(f"{held:.3g}"))

    def _fill(self, docket: Docket, outcome: Outcome) -> None:
        if outcome.prediction is None:
            self.table.show_rows([])
            self.said.setText("")
            return
        try:
            self.card = lamp_card(
                docket, outcome.prediction, self.page.instrument(), bands=self.page.bands()
            )
        except BobweightError as error:
            self.table.show_rows([])
            self.said.setText(sentence(error.problem, docket, self.page.display))
            return
        self._show(self.card)

    def _show(self, card: LampCard) -> None:
        plain = not self.page.store.docket.has_capsule
        self.table.set_headings(
            (
                translate("pages", "Engine\nrev/min"),
                translate("pages", "Rising") if plain else translate("pages", "Off\nrising"),
                translate("pages", "Falling") if plain else translate("pages", "Off\nfalling"),
                translate("pages", "On\nrising"), translate("pages", "On\nfalling"),
                translate("pages", "Target") if plain else translate("pages", "Target,\noff"),
            )
        )  # fmt: skip
        columns = (
            card.off_rising_deg, card.off_falling_deg, card.on_rising_deg, card.on_falling_deg
        )  # fmt: skip
        out = card.outside(self.page.store.docket.target.read_as)
        rows = []
        for i in range(card.engine_rpm.size):
            shown: list[Cell] = ["–" if each is None else degrees(each[i]) for each in columns]
            for column, is_out in enumerate(out):
                if is_out[i]:
                    text = worded(word("figure-outside", value=shown[column]))
                    shown[column] = text, theme_for().wrong
            rows.append(
                (f"{card.shown_rpm[i]:.0f}", *shown, _band(card.low_deg[i], card.high_deg[i]))
            )
        self.table.show_rows(rows)
        for column in (3, 4):
            self.table.setColumnHidden(column, card.on_rising_deg is None)
        self.said.setText(self._said(card))

    def _said(self, card: LampCard) -> str:
        parts = [
            translate("pages", "Static, this lamp’s mark error and delay are counted in, at the "
                      "speeds its tachometer shows."),
        ]  # fmt: skip
        if card.backlash_deg:
            text = translate("pages", "Falling shows the drive’s backlash of {backlash} besides.")
            parts.append(text.format(backlash=degrees(card.backlash_deg)))
        if self.page.store.docket.has_capsule:
            parts.insert(0, translate("pages", "Off and on: the pipe to the capsule."))
        if card.depression_kpa is not None:
            unit = self.page.display.depression_unit
            parts.append(
                translate("pages", "Pipe on: {depression} held by a hand pump.").format(
                    depression=amount(float(f"{card.depression_kpa:.3g}"), DEPRESSION, unit)
                )
            )
        parts.append(translate("pages", "Copy (Ctrl+C) takes the card to a spreadsheet."))
        return " ".join(parts)


def _band(low: float, high: float) -> str:
    if np.isnan(low) and np.isnan(high):
        return ""
    return said(span(typed(low), typed(high), "°"))


class StatesSection(QObject):
    """The driving states with their totals, and what altitude takes away."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        made = Form(SettingUp, _ROOT, ("ceiling_total_deg", "altitude_m"), page.store, page.display)
        self.states = RecordTable(
            page.store, (*_ROOT, "states"),
            ("name", "engine_rpm", "depression_kpa", "throttle"), page.display,
            assumed=lambda state: state in USUAL_STATES, name=translate("pages", "Driving states"),
        )  # fmt: skip
        self.table = FigureTable(
            translate("pages", "Totals of the driving states"),
            (
                translate("pages", "State"), translate("pages", "Total\nat sea level"),
                translate("pages", "Depression\nat altitude"),
                translate("pages", "Total\nat altitude"),
            ),
        )  # fmt: skip
        self.said = AnswerLabel()
        self.height_said = AnswerLabel("faint")
        self.group = page.add_group(
            translate("pages", "Driving states, total at the crank"), self.states, made,
            self.table, self.said, self.height_said,
        )  # fmt: skip
        assert DrivingState is self.states.model.record_type

    def follow(self) -> None:
        """The docket or its curve changed."""
        docket, prediction = self.page.store.docket, self.page.feed.outcome.prediction
        wrong = ""
        try:
            totals = () if prediction is None else state_totals(docket, prediction)
        except BobweightError as error:
            totals, wrong = (), sentence(error.problem, docket, self.page.display)
        if prediction is None or wrong:
            self.table.show_rows([])
            self.said.setText(wrong)
            self.height_said.setText("")
            return
        theme, unit = theme_for(), self.page.display.depression_unit
        high = docket.setting_up.altitude_taken_m > 0
        rows = []
        for state in totals:
            over = state.over_deg is not None
            sign, colour = ("▲ ", theme.wrong) if over else ("", "")
            rows.append(
                (
                    (f"{sign}{state.name}", colour), (degrees(state.total_deg), colour),
                    amount(float(f"{state.altitude_kpa:.3g}"), DEPRESSION, unit),
                    degrees(state.altitude_total_deg),
                )
            )  # fmt: skip
        self.table.show_rows(rows)
        for column in (2, 3):
            self.table.setColumnHidden(column, not high)
        self._show_over(totals)
        self.height_said.setText(self._height_text(docket))

    def _show_over(self, totals) -> None:
        ceiling = self.page.store.docket.setting_up.ceiling_total_deg
        over = [t for t in totals if t.over_deg is not None]
        if ceiling is None:
            text = translate("pages", "Type the most that the engine may have, to hold it against.")
            self.said.say(text)
        elif over:
            worst = max(over, key=lambda t: t.over_deg)
            text = translate("pages", "{state} passes the ceiling of {ceiling} by {over}.").format(
                state=worst.name, ceiling=degrees(ceiling), over=degrees(worst.over_deg)
            )
            self.said.say(text, "wrong")
        else:
            text = translate("pages", "✓ No state passes the ceiling of {ceiling}.")
            self.said.say(text.format(ceiling=degrees(ceiling)), "")

    def _height_text(self, docket: Docket) -> str:
        state = pulls_most(docket)
        if state is None:
            return ""
        try:
            height = full_travel_height_m(docket, state.depression_kpa)
        except BobweightError:
            return translate("pages", "Even at sea level no state pulls the capsule all the way.")
        if height is None:
            return ""
        return translate(
            "pages",
            "{state} pulls the capsule most; above {height} even that does not move it fully "
            "(standard atmosphere).",
        ).format(state=state.name, height=amount(round(height, -1), ALTITUDE))
