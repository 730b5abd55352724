"""Short sums about the instruments, to be put into a session; and rotor phasing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QPushButton

from bobweight.app.editors.entry import Lines, NumberEntry
from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import degrees, signed
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import translate, with_unit
from bobweight.core.bench.lamp import lag_from_two_speeds, parallax_deg, tachometer_scale
from bobweight.core.bench.setting import (
    mark_error_from_stop,
    rotor_phasing,
    with_lag,
    with_mark_error,
    with_tachometer,
)
from bobweight.core.bench.sums import LampDelay, PistonStop, TachometerCheck
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.setting_up import RotorFit, SettingUp
from bobweight.core.mechanics.capsule import capsule_problems
from bobweight.core.problems import BobweightError
from bobweight.core.record import Record, parameters

if TYPE_CHECKING:
    from bobweight.app.pages.setting_up import SettingUpPage


class _Sum(QObject):
    """Entries, an answer, and a button that puts it into the session shown."""

    def __init__(self, page: SettingUpPage, asked: type[Record], title: str, tip: str) -> None:
        super().__init__(page)
        self.page = page
        self.entries: dict[str, NumberEntry] = {}
        self.lines = Lines()
        for key, parameter in parameters(asked).items():
            entry = NumberEntry(parameter, page.display)
            entry.taken.connect(self.follow)
            self.entries[key] = self.lines.add_entry(entry)
        self.tip = AnswerLabel("faint")
        self.tip.setText(tip)
        self.answer = AnswerLabel()
        self.button = QPushButton()
        self.button.clicked.connect(self.apply)
        self.group = page.add_group(title, self.tip, self.lines, self.answer, self.button)
        self._found: Any = None  # what this kind of sum comes to

    def values(self, *keys: str) -> list[float] | None:
        """What was typed; None while any is missing."""
        found = [self.entries[key].value for key in keys]
        known = [value for value in found if value is not None]
        return known if len(known) == len(found) else None

    def follow(self, _value: object = None) -> None:
        """Work it out again."""
        self._found = None
        try:
            self.answer.say(self.work_out(), "")
        except BobweightError as error:
            self.answer.say(sentence(error.problem), "wrong")
        session = self.page.session_title()
        self.button.setText(translate("pages", "Put it into “{session}”").format(session=session))
        self.button.setVisible(self._found is not None and self.page.session_index() >= 0)

    def work_out(self) -> str:
        """The answer in words, with what was found in ``_found``; empty while figures miss."""
        raise NotImplementedError

    def put(self, docket: Docket, index: int) -> tuple[str, Docket]:
        """What the edit is called, and the docket with what was found in its session."""
        raise NotImplementedError

    def apply(self) -> None:
        """Put what was found into the session shown, as one edit."""
        if self._found is not None:
            store = self.page.store
            store.replace(*self.put(store.docket, self.page.session_index()))


class MarkSum(_Sum):
    """Error of the mark from a piston stop, and what parallax adds."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(
            page, PistonStop, translate("pages", "Error of the mark"),
            translate(
                "pages",
                "By hand only, turn the engine gently against a piston stop from both sides and "
                "read the mark each time.",
            ),
        )  # fmt: skip
        pulley = Form(SettingUp, ("setting_up",), ("pulley_mm", "pulley_rotation"), page.store,
                      page.display, plain=True)  # fmt: skip
        self.group.body.insertWidget(2, pulley)

    def work_out(self) -> str:
        parts = []
        pair = self.values("before_deg", "after_deg")
        if pair:
            self._found = mark_error_from_stop(*pair, u_reading_deg=self.entries["u_deg"].value)
            error, u = self._found.mark_error_deg, self._found.u_mark_error_deg
            text = translate("pages", "The mark shows {error}° against the truth{u}.")
            parts.append(
                text.format(error=signed(error, 2), u="" if u is None else f" (±\u00a0{u:.2f}°)")
            )
        diameter = self.page.store.docket.setting_up.pulley_mm
        seen = self.entries["seen_mm"].value
        if seen is not None and diameter is not None:
            off = float(parallax_deg(abs(seen), diameter))
            parts.append(
                translate("pages", "Seen so far from the side, it reads {off} wrong.").format(
                    off=degrees(off, 2)
                )
            )
        elif seen is not None:
            parts.append(translate("pages", "Parallax needs the pulley’s diameter."))
        return " ".join(parts)

    def put(self, docket: Docket, index: int) -> tuple[str, Docket]:
        name = translate("pages", "Error of the mark {error}° from a piston stop").format(
            error=signed(self._found.mark_error_deg, 2)
        )
        return name, with_mark_error(docket, index, self._found)


class TachometerSum(_Sum):
    """Scale of the tachometer against a reference, at one or two speeds."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(
            page, TachometerCheck, translate("pages", "Tachometer check"),
            translate("pages", "The same speed on this tachometer and on one that is trusted."),
        )  # fmt: skip

    def work_out(self) -> str:
        rows = (self.values(f"shown_{n}_rpm", f"trusted_{n}_rpm") for n in (1, 2, 3))
        pairs = [row for row in rows if row]
        if not pairs:
            return ""
        found = self._found = tachometer_scale(*zip(*pairs, strict=True))
        u = "" if found.u_scale is None else f" ± {found.u_scale:.4f}"
        text = translate("pages", "True speed per shown speed: {scale}{u}.").format(
            scale=f"{found.scale:.4f}", u=u
        )
        more = {
            "double": translate("pages", "△ It shows about twice the speed: set for another number "
                                "of cylinders?"),
            "half": translate("pages", "△ It shows about half the speed: set for another number of "
                              "cylinders?"),
        }.get(found.setting, "")  # fmt: skip
        return f"{text} {more}".strip()

    def put(self, docket: Docket, index: int) -> tuple[str, Docket]:
        name = translate("pages", "Tachometer scale {scale}").format(
            scale=f"{self._found.scale:.4f}"
        )
        return name, with_tachometer(docket, index, self._found)


class LagSum(_Sum):
    """Delay of the lamp from two speeds above full advance."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(
            page, LampDelay, translate("pages", "Delay of the lamp"),
            translate(
                "pages",
                "Two speeds, both well above full advance and with the pipe off, where the timing "
                "stands still: what falls back is the lamp’s.",
            ),
        )  # fmt: skip

    def work_out(self) -> str:
        speeds, angles = (
            self.values(f"slower_{unit}", f"faster_{unit}") for unit in ("rpm", "deg")
        )
        if not speeds or not angles:
            return ""
        u, instrument = self.entries["u_deg"].value, self.page.instrument()
        scale = 1.0 if instrument is None else instrument.scale_taken
        found = lag_from_two_speeds(
            (speeds[0], speeds[1]), (angles[0], angles[1]), u_reading_deg=u, scale=scale
        )
        self._found = found
        text = translate("pages", "Delay {lag} ms{u}: {degrees} at 3000 engine rev/min.").format(
            lag=f"{found.lag_ms:.3f}".replace("-", "−"),
            u="" if found.u_lag_ms is None else f" ± {found.u_lag_ms:.3f} ms",
            degrees=degrees(found.late_deg(3000.0)),
        )
        return text + self._too_slow(scale * min(speeds))

    def _too_slow(self, slowest_rpm: float) -> str:
        """Advice where the slower speed lies below the predicted full advance."""
        outcome = self.page.feed.outcome
        if outcome.prediction is None:
            return ""
        full = outcome.prediction.full_rpm * outcome.docket.particulars.ratio_taken
        if slowest_rpm >= full:
            return ""
        return " " + translate(
            "pages", "△ The slower speed lies below full advance ({full} engine rev/min)."
        ).format(full=f"{full:.0f}")

    def put(self, docket: Docket, index: int) -> tuple[str, Docket]:
        name = translate("pages", "Delay of the lamp {lag} ms").format(
            lag=f"{self._found.lag_ms:.3f}"
        )
        return name, with_lag(docket, index, self._found)


class RotorSection(QObject):
    """Does the rotor face its post with the vacuum off and on."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        made = Form(
            RotorFit,
            ("setting_up", "rotor"),
            plain_keys(RotorFit),
            page.store,
            page.display,
            plain=True,
        )
        self.said = AnswerLabel()
        self.group = page.add_group(translate("pages", "Rotor phasing"), made, self.said)

    def follow(self) -> None:
        """The docket changed."""
        docket = self.page.store.docket
        try:
            found = rotor_phasing(docket)
        except BobweightError:
            self.said.say(
                translate(
                    "pages",
                    "The four sizes tell whether rotor arm and cap segment still face each other.",
                )
            )
            return
        if any(p.grave for capsule in docket.capsules for p in capsule_problems(capsule)):
            self.said.say(translate("pages", "This needs the travel of the capsule: see Vacuum."))
            return
        text = translate(
            "pages",
            "Vacuum off, the tip stands {off}° past its cap segment; at full travel {on}°. The "
            "overlap left at the worse end is {margin} ({deg}°). Best with the vacuum off: "
            "{best}°.",
        ).format(
            off=signed(found.off_deg), on=signed(found.on_deg),
            margin=with_unit(f"{found.margin_mm:.1f}", "mm"),
            deg=f"{found.margin_deg:.1f}", best=signed(found.best_off_deg),
        ).replace("-", "−")  # fmt: skip
        if found.margin_mm < 0:
            parted = translate("pages", "Tip and segment part: the spark must jump. {text}")
            self.said.say(parted.format(text=text), "wrong")
        else:
            self.said.say("✓ " + text, "")


class EngineCautions(QObject):
    """The cautions of work at the running engine, where the card is used."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.box = CautionBox(page.display)
        self.box.show_act("setting")
        page.add_group("", self.box)
