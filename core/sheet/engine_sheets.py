"""What goes to the running engine on paper: the lamp card, and a blank sheet for readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from bobweight.core.bench.lamp import Lamp, shown_deg
from bobweight.core.bench.setting import (
    LampCard,
    card_speeds,
    idle_timing,
    lamp_card,
    lamp_of,
    total_for_static,
)
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.readings import Instrument
from bobweight.core.figure.description import Content, Word, word
from bobweight.core.figure.numbers import aligned, figure, short, span, typed
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.instrument import Reader
from bobweight.core.problems import BobweightError, required
from bobweight.core.record import is_assumed
from bobweight.core.sheet.blocks import as_known, crank_turns, static_words, total_words
from bobweight.core.sheet.description import Description, Ruler, plain
from bobweight.core.sheet.grid import GridColumn, Row, grid
from bobweight.core.sheet.layout import SMALL_PT, place_to_write
from bobweight.core.sheet.pages import Pages
from bobweight.core.sheet.workshop import Workshop

if TYPE_CHECKING:
    from bobweight.core.judgement.outcome import Outcome

REPEATS = 3
_BLANK_ROWS = 3
_LEAST_ROWS = 12
_VACUUM_ROWS = 6
_TABLE_HEAD_MM = 19.0  # of a table, with the line that leads to it
_NOTES_MM, _KEY_MM = 11.0, 4.0
_LINE_MM, _UNDER_LINES_MM = 7.0, 2.0  # to write on
_HELD_RPM = tuple(float(rpm) for rpm in range(900, 350, -50))
_NOTHING_DEG = 0.05  # at the shaft that is read: 0.0 as it is written


def card_bands(outcome: Outcome) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The target's check points: engine rev/min, least and most centrifugal advance in
    distributor degrees (infinite for no limit), each of shape (check points,)."""
    points = outcome.comparison.check_points
    ratio = outcome.docket.particulars.ratio_taken
    return (
        np.array([(p.speed_rpm or 0.0) * ratio for p in points]),
        np.array([p.low_deg for p in points]),
        np.array([p.high_deg for p in points]),
    )


def instrument_of(outcome: Outcome) -> Instrument | None:
    """The instruments of the session judged; None without a session."""
    sessions = outcome.docket.sessions
    return sessions[outcome.session].instrument if outcome.session >= 0 and sessions else None


def lamp_sheet(outcome: Outcome, paper: str, ruler: Ruler, *, view: View | None = None,
               workshop: Workshop | None = None, said: str = "") -> Description:  # fmt: skip
    """The lamp card: what the lamp must show at each speed, with room to write what it does, under
    the one sentence of judgement ``said``.

    Raises
    ------
    BobweightError
        ``curve-needed`` without a predicted curve; ``missing`` at the static timing.
    """
    docket = outcome.docket
    if outcome.prediction is None:
        raise BobweightError("curve-needed", ("mechanism",))
    view = view or View(drive_ratio=docket.particulars.ratio_taken)
    instrument = instrument_of(outcome)
    card = lamp_card(docket, outcome.prediction, instrument, bands=card_bands(outcome))
    pages = Pages(paper, ruler, word("card-title"), _subject(outcome), workshop, with_bar=False)
    pages.facts(_card_facts(outcome, card, instrument, view))
    if said:
        read = bool(len(outcome.reduced.index))
        pages.paragraph(word("card-judged", said=said) if read else said, 10.0)
    pages.paragraph(word("card-how" if docket.may_have_capsule else "card-how-bare"), 10.0)
    pages.paragraph(word("engine-cautions"), SMALL_PT)
    columns, rows = _card_table(card, docket)
    row_mm = _filling(pages, len(rows), 15.0 + _KEY_MM + _NOTES_MM, 8.0, 19.0)
    grid(pages, columns, rows, row_mm=row_mm, size_pt=min(1.2 * row_mm, 16.0))
    if any(isinstance(cell, Word) for row in rows for cell in row[1:3]):
        pages.paragraph(word("figure-outside", value=word("card-outside")), gap_mm=0.0)
    pages.notes(word("session-notes"))
    return pages.description()


def _filling(pages: Pages, rows: int, others_mm: float, least_mm: float, most_mm: float) -> float:
    """The height of a row with which so many fill the page at hand, within limits."""
    return min(max((pages.left_mm - others_mm) / max(rows, 1), least_mm), most_mm)


def _subject(outcome: Outcome) -> str:
    record = outcome.docket.particulars
    return plain(record.title) or plain(record.unit_number)


def _card_facts(outcome: Outcome, card: LampCard, instrument: Instrument | None,
                view: View) -> list[tuple[Content, Content]]:  # fmt: skip
    setting, lamp = outcome.docket.setting_up, lamp_of(outcome.docket, instrument)
    found: list[tuple[Content, Content]] = [(word("card-static"), _static_by_mark(lamp))]
    total = total_for_static(outcome.docket, required(outcome.prediction, "mechanism"))
    shown = float(shown_deg(lamp, total.engine_rpm, total.advance_deg / lamp.drive_ratio))
    speed_rpm = float(lamp.shown_rpm(total.engine_rpm))
    told = total_words(shown, speed_rpm, total.depression_kpa, view)
    found.append((word("card-total"), told))
    if setting.idle_rpm is not None:
        speed = figure(float(lamp.shown_rpm(setting.idle_rpm)), 0)
        found.append((word("card-idle"), word("speed-of", speed=speed)))
    found += gap_and_dwell(outcome)
    if card.depression_kpa is not None:
        held = f"{view.depression(card.depression_kpa)} {view.depression_unit}"
        found.append((word("card-held"), held))
    found += idle_facts(outcome, instrument, view)
    if instrument is not None and instrument.kind_taken == "lamp":
        mark = f"{typed(instrument.mark_error_taken_deg, signed=True)}°"
        found += [
            (word(f"card-{name}"), as_known(instrument, key, told))
            for name, key, told in (
                ("mark", "mark_error_deg", mark),
                ("lag", "lag_ms", f"{short(instrument.lag_taken_ms)} ms"),
                ("scale", "tachometer_scale", _scale_words(instrument.scale_taken)),
            )
        ]
    unit = outcome.docket.particulars
    if is_assumed(unit, "drive_ratio"):  # every angle of the card goes by it
        found.append(crank_turns(unit))
    if card.backlash_deg:
        told = word("card-backlash-of", value=short(card.backlash_deg, 2))
        found.append((word("card-backlash"), told))
    return found


def _static_by_mark(lamp: Lamp) -> Content:
    """The static to set, and what a mark that is out shows for it."""
    static = static_words(short(lamp.static_deg, 2))
    if not round(lamp.mark_error_deg, 1):
        return static
    by_mark = short(lamp.static_deg + lamp.mark_error_deg, 2)
    return word("static-by-mark", static=static, shown=by_mark)


def _scale_words(scale: float) -> Content:
    return word("scale-true") if scale == 1.0 else word("scale-times", scale=short(scale, 4))


def idle_facts(outcome: Outcome, instrument: Instrument | None,
               view: View) -> list[tuple[Content, Content]]:  # fmt: skip
    """What every capsule does at idle, and what the lamp shows there with the pipes on."""
    assert outcome.prediction is not None
    idle = idle_timing(outcome.docket, outcome.prediction, instrument)
    if idle is None:
        return []
    alone = len(idle.capsules) == 1
    found: list[tuple[Content, Content]] = []
    for one in idle.capsules:
        name = word("idle-capsule") if alone else word("idle-capsule-of", number=one.number)
        way = "still" if round(abs(one.moved_deg), 1) == 0.0 else "advances"
        if one.moved_deg < 0.0 and way != "still":
            way = "retards"
        felt = f"{view.depression(one.felt_kpa)} {view.depression_unit}"
        moved = figure(abs(one.moved_deg), 1)
        told = word(f"idle-{way}-{one.fed_from}", value=moved, depression=felt)
        found.append((name, told))
    code = "idle-falling-usual" if idle.usual else "idle-falling"
    told = word(code, total=figure(idle.shown_deg, 1), speed=figure(idle.shown_rpm, 0))
    return [*found, (word("idle-shown" if alone else "idle-shown-of-all"), told)]


def gap_and_dwell(outcome: Outcome) -> list[tuple[Content, Content]]:
    """Gap to set, and the dwell last found, where they are known."""
    points, findings = outcome.docket.points, outcome.docket.findings
    gap = points.set_gap_mm
    found: list[tuple[Content, Content]] = []
    if gap is not None:
        found.append((word("card-gap"), f"{short(gap)} mm"))
    if findings.dwell_deg is not None:
        found.append((word("card-dwell"), f"{short(findings.dwell_deg, 2)}°"))
    return found


def _marked(must_show_deg: np.ndarray, outside: np.ndarray) -> list[Content]:
    """What the lamp must show, with the sign of what is outside where it lies outside the band."""
    return [
        word("figure-outside", value=figure(deg)) if out else figure(deg)
        for deg, out in zip(must_show_deg, outside, strict=True)
    ]


def _card_table(card: LampCard, docket: Docket) -> tuple[list[GridColumn], list[Row]]:
    off = word("pipe-off" if docket.may_have_capsule else "lamp-must-show")
    on = word("pipe-on")
    columns = [
        GridColumn((word("tachometer"), word("speed-unit")), 1.2, bold=True),
        GridColumn((word("rising-head"), "°"), 1.2, off),
        GridColumn((word("falling-head"), "°"), 1.2, off),
        GridColumn((word("band-short"), "°"), 2.1, off),
        GridColumn((word("seen"), word("rising")), 1.1, off),
        GridColumn((word("seen"), word("falling")), 1.1, off),
    ]
    rising, falling = card.on_rising_deg, card.on_falling_deg
    if rising is not None:
        columns += [
            GridColumn((word("rising-head"), "°"), group=on),
            GridColumn((word("falling-head"), "°"), group=on),
            GridColumn((word("seen"),), 1.1, on),
        ]
    rows: list[Row] = []
    out_up, out_down = card.outside(docket.target.read_as)
    up, down = _marked(card.off_rising_deg, out_up), _marked(card.off_falling_deg, out_down)
    for i in range(card.engine_rpm.size):
        row: list[Content] = [
            figure(card.shown_rpm[i], 0), up[i], down[i],
            span(typed(card.low_deg[i]), typed(card.high_deg[i])), "", "",
        ]  # fmt: skip
        if rising is not None and falling is not None:
            row += [figure(rising[i]), figure(falling[i]), ""]
        rows.append(row)
    return columns, rows


@frozen
class _Seen:
    """How advance is seen in a session: through what, and what the engine turns a distributor."""

    rig: bool
    reader: Reader
    drive_ratio: float

    def speed(self, engine_rpm: float) -> str:
        return figure(float(self.reader.shown(engine_rpm / self.drive_ratio, 0.0)[0]), 0)

    def angle(self, engine_rpm: float, advance_deg: float) -> float:
        """What is shown for an advance in distributor degrees; NaN for no limit."""
        shown = float(self.reader.shown(engine_rpm / self.drive_ratio, advance_deg)[1])
        return shown if np.isfinite(shown) else float("nan")


def _seen(outcome: Outcome) -> _Seen:
    docket, instrument = outcome.docket, instrument_of(outcome) or Instrument()
    reader, static = Reader.of(instrument, docket.particulars), docket.setting_up.static_deg
    rig = instrument.kind_taken == "rig"
    if not rig and static is None:  # the advance alone
        reader = Reader(ratio=reader.ratio, scale=reader.scale)
    elif not rig:
        reader = replace(reader, zero_deg=required(static) + instrument.mark_error_taken_deg)
    return _Seen(rig, reader, docket.particulars.ratio_taken)


def session_sheet(outcome: Outcome, paper: str, ruler: Ruler, *, view: View | None = None,
                  workshop: Workshop | None = None) -> Description:  # fmt: skip
    """A blank sheet for a session of readings: the docket's speeds with the band there, three
    readings each way, and the capsule in steps."""
    docket = outcome.docket
    view = view or View(drive_ratio=docket.particulars.ratio_taken)
    seen = _seen(outcome)
    pages = Pages(paper, ruler, word("session-title"), _subject(outcome), workshop, with_bar=False)
    pages.paragraph(word("rig-cautions" if seen.rig else "engine-cautions"), SMALL_PT)
    engine = "session-how" if docket.may_have_capsule else "session-how-bare"
    pages.paragraph(word("session-how-rig" if seen.rig else engine))
    _to_fill_in(pages, _told_of_itself(seen, docket.setting_up.static_deg))
    columns, rows = _speed_table(outcome, seen)
    with_capsule = docket.has_capsule or bool(docket.target.vacuum_points)
    below: tuple[list[GridColumn], list[Row]] = ([], [])
    if with_capsule:
        held_rpm = _held_rpm(outcome, seen)
        below = _vacuum_table(outcome, view, seen, held_rpm)
    below_mm = (_TABLE_HEAD_MM + _LINE_MM + _UNDER_LINES_MM) * with_capsule
    others_mm = _TABLE_HEAD_MM + below_mm + _NOTES_MM
    row_mm = _filling(pages, len(rows) + len(below[1]), others_mm, 7.0, 13.0)
    size_pt = min(1.35 * row_mm, 13.0)
    grid(pages, columns, rows, row_mm=row_mm, size_pt=size_pt)
    if with_capsule:
        lead, lines = word("session-vacuum"), [word("session-held"), word("session-pipe-off")]
        if held_rpm is not None:
            lead = word("session-vacuum-at", speed=seen.speed(held_rpm))
            lines = [word("session-pipe-off-of", zero=figure(seen.angle(held_rpm, 0.0)))]
        pages.paragraph(lead, 9.0)
        _to_fill_in(pages, lines)
        grid(pages, *below, row_mm=row_mm, size_pt=size_pt)
    pages.notes(word("session-notes"))
    return pages.description()


def _told_of_itself(seen: _Seen, static_deg: float | None) -> list[Content]:
    """What a session must say of itself."""
    labels: list[Content] = [word("session-date"), word("session-name")]
    if seen.rig:
        return [*labels, word("session-zero"), word("session-instrument")]
    wanted = short(static_deg, 2)
    static = word("session-static-of", value=wanted) if wanted else word("session-static")
    return [*labels, static, word("session-mark"), word("session-tachometer"),
            word("session-dwell")]  # fmt: skip


def _to_fill_in(pages: Pages, labels: Sequence[Content]) -> None:
    """Lines to write on, two side by side."""
    half, gap = pages.room / 2, 5.0
    for number, label in enumerate(labels):
        row, right = divmod(number, 2)
        x, y = pages.left + half * right, pages.y + _LINE_MM * row + 4.0
        pages.add(place_to_write(x, y, half if right else half - gap, label, pages.ruler))
    pages.y += _LINE_MM * -(-len(labels) // 2) + _UNDER_LINES_MM


def _repeats(group: Content) -> list[GridColumn]:
    numbers = [GridColumn((str(n),), 0.8, group) for n in range(1, REPEATS + 1)]
    return [*numbers, GridColumn((word("mean"),), 0.8, group)]


def _speed_table(outcome: Outcome, seen: _Seen) -> tuple[list[GridColumn], list[Row]]:
    at = word("session-distributor" if seen.rig else "session-engine")
    without = not seen.rig and outcome.docket.setting_up.static_deg is None
    checks, low, high = card_bands(outcome)
    falling = not seen.rig and outcome.docket.target.read_as == "falling"
    ahead = outcome.docket.particulars.backlash_taken_deg if falling else 0.0
    angle = word("session-band-without" if without else "session-band")
    if seen.rig:
        angle = word("session-band-rig", zero=typed(float(seen.reader.zero_deg)))
    if not checks.size:
        angle = word("session-band-blank")
    columns = [
        GridColumn((at, word("speed-unit")), 1.2, bold=True),
        GridColumn((angle, "°"), 1.7),
        *_repeats(word("session-rising")),
        *_repeats(word("session-falling")),
        GridColumn((word("session-note"),), 1.6),
    ]
    blank: list[Content] = [""] * (len(columns) - 2)
    rows: list[Row] = []
    for speed in session_speeds(outcome):
        band: Content = ""
        for check, least, most in zip(checks, low, high, strict=True):
            if abs(check - speed) < 0.5:
                band = span(*(typed(seen.angle(speed, deg) + ahead) for deg in (least, most)))
        rows.append([seen.speed(speed), band, *blank])
    blanks = max(_BLANK_ROWS, _LEAST_ROWS - len(rows))
    return columns, rows + [["", "", *blank]] * blanks


def session_speeds(outcome: Outcome) -> list[float]:
    """True engine rev/min of the rows: those of the lamp card and every check point, rising; the
    check points alone without a predicted curve."""
    checks = [float(speed) for speed in card_bands(outcome)[0] if speed > 0]
    if outcome.prediction is None:
        idle = outcome.docket.setting_up.idle_rpm
        return sorted({*checks, *([idle] if idle else [])})
    card = card_speeds(outcome.docket, outcome.prediction, checks)
    return sorted({*checks, *(float(speed) for speed in card)})


def _held_rpm(outcome: Outcome, seen: _Seen) -> float | None:
    """Engine speed at which the capsule is tried: idle, else a round one, where the weights give
    nothing by table and prediction alike, so that its targets can be told as shown. None where no
    such speed is known, or what is shown without any advance is not."""
    start, prediction = outcome.comparison.start, outcome.prediction
    static, idle = outcome.docket.setting_up.static_deg, outcome.docket.setting_up.idle_rpm
    if (start is None and prediction is None) or not (seen.rig or static is not None):
        return None
    for rpm in [*([idle] if idle else []), *_HELD_RPM]:
        at_rpm = rpm / seen.drive_ratio
        by_table = start is None or at_rpm <= required(start.speed_rpm)
        if by_table and (prediction is None
                         or seen.reader.ratio * prediction.advance_deg(at_rpm, "falling")
                         < _NOTHING_DEG):  # fmt: skip
            return rpm
    return None


def _vacuum_table(
    outcome: Outcome, view: View, seen: _Seen, held_rpm: float | None
) -> tuple[list[GridColumn], list[Row]]:
    alone = held_rpm is None
    columns = [
        GridColumn((word("depression"), view.depression_unit), 1.2, bold=True),
        GridColumn((word("session-plate" if alone else "session-band"), "°"), 1.7),
        *_repeats(word("session-deeper")),
        *_repeats(word("session-back")),
        GridColumn((word("session-note"),), 1.6),
    ]
    blank: list[Content] = [""] * (len(columns) - 2)
    points = outcome.comparison.vacuum_points

    def told(deg: float) -> str:
        return typed(
            deg * float(seen.reader.ratio) if alone else seen.angle(required(held_rpm), deg)
        )

    rows: list[Row] = [
        [at, span(told(p.low_deg), told(p.high_deg)), *blank]
        for at, p in zip(aligned([view.depression(p.depression_kpa) for p in points]), points,
                         strict=True)
    ]  # fmt: skip
    return columns, rows + [["", "", *blank]] * max(2, _VACUUM_ROWS - len(rows))
