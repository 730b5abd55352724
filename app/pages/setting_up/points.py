"""Points and coil: gap, dwell and opening angle, what they do to the timing, and the current."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from bobweight.app.editors.entry import Lines, NumberEntry
from bobweight.app.editors.form import Form, plain_keys
from bobweight.app.messages import sentence
from bobweight.app.messages.figures import degrees
from bobweight.app.messages.reassembly_words import lobes_text
from bobweight.app.theme import set_role, theme_for
from bobweight.app.widgets.card import allow
from bobweight.app.widgets.caution_box import CautionBox
from bobweight.app.widgets.table import FigureTable
from bobweight.app.widgets.words import AnswerLabel
from bobweight.app.words import amount, translate
from bobweight.core.bench.coil import CoilCircuit, current_at_opening_a, falls_short_rpm
from bobweight.core.bench.findings import contact_cam, limits_of
from bobweight.core.bench.points import (
    ContactCam,
    advice,
    at_dwell,
    at_gap,
    at_open_angle,
    at_percent,
    dwell_time_ms,
    timing_shift,
)
from bobweight.core.bench.sums import PointsSetting
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.points import Coil, Points
from bobweight.core.problems import BobweightError, Problem
from bobweight.core.record import is_assumed, parameters, put
from bobweight.core.units import CURRENT, LENGTH

if TYPE_CHECKING:
    from bobweight.app.pages.setting_up import SettingUpPage

_POINTS, _COIL = ("points",), ("coil",)
_SIZES = ("flat_mm", "lobe_mm", "lever_ratio", "known_gap_mm", "known_dwell_deg")
_ENGINE_RPM = (500.0, 1000.0, 2000.0, 3000.0, 4000.0, 5000.0, 6000.0)


class PointsSection(QObject):
    """Gap, dwell and opening angle, each from the others."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        display = page.display
        self.cautions = CautionBox(display)
        self.cautions.show_act("points")
        sizes = Form(Points, _POINTS, _SIZES, page.store, display, plain=True)
        self.cam_said = AnswerLabel("faint")
        described = parameters(PointsSetting)
        takes = (self._take_gap, self._take_dwell, self._take_open, self._take_percent)
        self.entries = {
            key: NumberEntry(described[key], display, take=take)
            for key, take in zip(described, takes, strict=True)
        }
        self.lines = Lines()
        for entry in self.entries.values():
            self.lines.add_entry(entry)
        self.usual = AnswerLabel("faint")
        self.shift = AnswerLabel()
        self.float_said = AnswerLabel("faint")
        self.float_said.setText(
            translate(
                "pages",
                "Contact float at high speed and the spring of the arm are not modelled: the "
                "meter on the running unit has the last word.",
            )
        )
        self.group = page.add_group(
            translate("pages", "Points: dwell first, then timing"), self.cautions, sizes,
            self.cam_said, self.lines, self.usual, self.shift, self.float_said,
        )  # fmt: skip

    def follow(self) -> None:
        """The docket changed."""
        docket = self.page.store.docket
        low, high, usual = limits_of(docket, "dwell_deg")
        words = (
            translate(
                "pages",
                "Usual with {lobes}: a dwell of {low} to {high}° (common practice). What counts is "
                "this unit’s own figure: Findings, Alter the limits.",
            )
            if usual
            else translate("pages", "This unit with {lobes}: a dwell of {low} to {high}°.")
        )
        lobes = lobes_text(docket.particulars.lobes_taken)
        if is_assumed(docket.particulars, "lobes"):
            lobes = translate("pages", "{lobes} (assumed)").format(lobes=lobes)
        self.usual.setText(words.format(lobes=lobes, low=f"{low:.3g}", high=f"{high:.3g}"))
        try:
            cam = contact_cam(docket.points, docket.particulars.lobes_taken)
        except BobweightError as error:
            self._show_cam_problem(error.problem)
            return
        self._show_cam(cam, docket)

    def _show_cam_problem(self, problem: Problem) -> None:
        if problem.code != "points-sizes-needed" or self.page.has_points():
            placed = problem.at("points") if problem.path[:1] != ("points",) else problem
            self.cam_said.say(sentence(placed, self.page.store.docket, self.page.display), "advice")
        else:
            self.cam_said.say(
                translate(
                    "pages",
                    "Measure two of flat, lobe and contact movement per heel lift, set a gap and "
                    "read the dwell: the pair calibrates the rest.",
                )
            )
        for entry in self.entries.values():
            entry.show_value(None)
        allow(self.lines, False, self.cam_said.text())
        self.shift.setText("")

    def _show_cam(self, cam: ContactCam, docket: Docket) -> None:
        allow(self.lines, True, "")
        said = translate(
            "pages", "Cam: flat {flat}, lobe {lobe}, contact movement per heel lift {ratio}."
        ).format(
            flat=self._length(cam.flat_mm), lobe=self._length(cam.lobe_mm),
            ratio=f"{cam.lever_ratio:.2f}",
        )  # fmt: skip
        if is_assumed(docket.particulars, "lobes"):
            said += "\n△ " + translate(
                "pages",
                "The number of lobes was not entered (Particulars): what follows is for {lobes}, "
                "which is assumed.",
            ).format(lobes=lobes_text(cam.lobes))
        for problem in advice(cam):
            placed = problem.at("points")
            said += "\n△ " + sentence(placed, docket, self.page.display)
        set_role(self.cam_said, "advice" if "△" in said else "faint")
        self.cam_said.setText(said)
        gap = docket.points.set_gap_mm
        if gap is None:
            for entry in self.entries.values():
                entry.show_value(None)
            self.shift.setText("")
            return
        try:
            setting = at_gap(cam, gap)
        except BobweightError as error:
            self.entries["gap_mm"].show_value(gap)
            for key in ("dwell_deg", "open_deg", "dwell_percent"):
                self.entries[key].show_value(None)
            self.entries["gap_mm"].say(error.problem)
            self.shift.setText("")
            return
        for key, value in (
            ("gap_mm", gap), ("dwell_deg", setting.dwell_deg), ("open_deg", setting.open_deg),
            ("dwell_percent", setting.dwell_percent),
        ):  # fmt: skip
            self.entries[key].show_value(float(f"{value:.4g}"))
        self._show_shift(cam, gap, docket.particulars.ratio_taken)

    def _show_shift(self, cam: ContactCam, gap_mm: float, ratio: float) -> None:
        shift = timing_shift(cam, gap_mm, drive_ratio=ratio)
        self.shift.setText(
            translate(
                "pages",
                "Opening the gap by 0.01 mm brings the spark {mm}° earlier at the crank and takes "
                "{dwell}° off the dwell; by a thou (0.001\u00a0in), {thou}° earlier. One degree "
                "more dwell is {late}° later at the crank.",
            ).format(
                mm=f"{shift.crank_deg_per_mm * 0.01:.2f}",
                dwell=f"{-shift.dwell_deg_per_mm * 0.01:.2f}",
                thou=f"{shift.crank_deg_per_thou:.2f}", late=f"{ratio / 2:g}",
            )
        )  # fmt: skip

    def _length(self, value_mm: float) -> str:
        return amount(float(f"{value_mm:.4g}"), LENGTH, self.page.display.unit(LENGTH))

    # Both ways --------------------------------------------------------------------------------

    def _cam(self) -> ContactCam:
        docket = self.page.store.docket
        return contact_cam(docket.points, docket.particulars.lobes_taken)

    def _take_gap(self, gap_mm: float | None) -> None:
        if gap_mm is not None:
            at_gap(self._cam(), gap_mm)  # refuses what the contacts cannot do
        self._set_gap(gap_mm, "")

    def _take_dwell(self, dwell_deg: float | None) -> None:
        self._take(dwell_deg, at_dwell, translate("pages", "for a dwell of {value}°"))

    def _take_open(self, open_deg: float | None) -> None:
        self._take(open_deg, at_open_angle, translate("pages", "to be open for {value}°"))

    def _take_percent(self, percent: float | None) -> None:
        self._take(percent, at_percent, translate("pages", "for a dwell of {value} %"))

    def _take(self, value: float | None, setting_at, why: str) -> None:
        if value is None:
            self._set_gap(None, "")
            return
        gap = float(setting_at(self._cam(), value).gap_mm)
        self._set_gap(gap, why.format(value=f"{value:g}"))

    def _set_gap(self, gap_mm: float | None, why: str) -> None:
        store = self.page.store
        docket = put(store.docket, (*_POINTS, "set_gap_mm"), gap_mm)
        if gap_mm is None:
            name = translate("pages", "Gap to set not known")
        else:
            name = translate("pages", "Set the gap to {gap} {why}").format(
                gap=self._length(gap_mm), why=why
            )
        store.replace(name.strip(), docket)
        self.follow()


class CoilSection(QObject):
    """What the coil has by the end of the dwell, over speed."""

    def __init__(self, page: SettingUpPage) -> None:
        super().__init__(page)
        self.page = page
        made = Form(Coil, _COIL, plain_keys(Coil), page.store, page.display, plain=True)
        self.table = FigureTable(
            translate("pages", "Coil current over speed"),
            (
                translate("pages", "Engine\nrev/min"), translate("pages", "Closed\nms"),
                translate("pages", "At the break\nA"),
            ),
            figures=True,
        )  # fmt: skip
        self.said = AnswerLabel()
        self.group = page.add_group(translate("pages", "Coil current"), made, self.table, self.said)

    def follow(self) -> None:
        """The docket changed."""
        docket = self.page.store.docket
        coil = docket.coil
        supply_v, coil_ohm, inductance_mh = coil.supply_v, coil.coil_ohm, coil.inductance_mh
        dwell = self._dwell(docket)
        if supply_v is None or coil_ohm is None or inductance_mh is None or dwell is None:
            self.table.show_rows([])
            self.said.setText(
                translate(
                    "pages", "Supply, winding, inductance and a dwell (above) give the current."
                )
            )
            return
        circuit = CoilCircuit(supply_v, coil_ohm, inductance_mh, coil.ballast_taken_ohm)
        ratio = docket.particulars.ratio_taken
        rows = []
        theme = theme_for()
        for rpm in _ENGINE_RPM:
            current = float(current_at_opening_a(circuit, dwell, rpm / ratio))
            short = coil.wanted_a is not None and current < coil.wanted_a
            text = f"{'▲ ' if short else ''}{current:.2f}"
            closed = float(dwell_time_ms(dwell, rpm / ratio))
            rows.append((f"{rpm:.0f}", f"{closed:.2f}", (text, theme.wrong if short else "")))
        self.table.show_rows(rows)
        self.said.setText(self._said(circuit, coil, dwell, ratio))

    def _dwell(self, docket: Docket) -> float | None:
        try:
            cam = contact_cam(docket.points, docket.particulars.lobes_taken)
            if docket.points.set_gap_mm is not None:
                return float(at_gap(cam, docket.points.set_gap_mm).dwell_deg)
        except BobweightError:
            pass
        return docket.findings.dwell_deg

    def _said(self, circuit: CoilCircuit, coil: Coil, dwell_deg: float, ratio: float) -> str:
        lines = []
        if coil.wanted_a is not None:
            try:
                short = float(falls_short_rpm(circuit, dwell_deg, coil.wanted_a)) * ratio
                lines.append(
                    translate(
                        "pages", "{wanted} is reached up to {speed} engine rev/min (dwell {dwell})."
                    ).format(
                        wanted=amount(coil.wanted_a, CURRENT), speed=f"{short:.0f}",
                        dwell=degrees(dwell_deg, 0),
                    )
                )  # fmt: skip
            except BobweightError as error:
                lines.append("▲ " + sentence(error.problem))
        lines.append(
            translate(
                "pages",
                "Left on with the points closed it draws {current}: {heat} W of heat in the coil.",
            ).format(
                current=amount(float(f"{circuit.final_a:.3g}"), CURRENT),
                heat=f"{circuit.standing_heat_w:.0f}",
            )
        )
        return "\n".join(lines)
