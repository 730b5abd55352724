"""The record of the work on the sheet: findings, before and after, alterations, setting up."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from bobweight.core.bench.findings import FindingsRecord, JudgedFinding, judge_findings
from bobweight.core.bench.limits import State
from bobweight.core.bench.setting import StateTotal, lamp_card, state_totals, total_for_static
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.findings import FindingLimits, Findings
from bobweight.core.docket.history import Alteration
from bobweight.core.docket.setting_up import USUAL_STATES, SettingUp
from bobweight.core.figure import points
from bobweight.core.figure.description import Content, Word, word
from bobweight.core.figure.numbers import figure, short, span
from bobweight.core.figure.view import View
from bobweight.core.frozen import frozen
from bobweight.core.judgement.compare import paired
from bobweight.core.judgement.outcome import outcome as judge
from bobweight.core.problems import BobweightError
from bobweight.core.record import parameters
from bobweight.core.sheet.blocks import Facts, decision, label, static_words, total_words
from bobweight.core.sheet.description import Element, Text, plain
from bobweight.core.sheet.engine_sheets import card_bands, gap_and_dwell, instrument_of
from bobweight.core.sheet.layout import Cell, Rows, SheetColumn

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome

STATE_MARKS = {State.PASS: "tick", State.BORDERLINE: "query", State.FAIL: "cross"}
_STATE_WORDS = {
    State.FAIL: "fail", State.BORDERLINE: "borderline", State.PASS: "pass", State.SHOWN: "shown",
}  # fmt: skip


@frozen
class Compared:
    """Two sessions of one docket, each judged."""

    before: Outcome
    after: Outcome


def earlier_session(docket: Docket, session: int) -> int | None:
    """The first session with readings before another (by index); None if there is none."""
    found = [i for i, s in enumerate(docket.sessions[: max(session, 0)]) if s.readings]
    return found[0] if found else None


def compared(outcome: Outcome, before: int | None) -> Compared | None:
    """An outcome beside that of another of its sessions; None without such a session."""
    if before is None or before == outcome.session:
        return None
    if not 0 <= before < len(outcome.docket.sessions):
        return None
    return Compared(judge(outcome.docket, before, outcome), outcome)


def session_name(outcome: Outcome) -> Content:
    """What a judged session is called: its title with its date, or its number."""
    session = outcome.docket.sessions[outcome.session]
    parts = [plain(session.title), plain(session.date)]
    text = ", ".join(part for part in parts if part)
    return text or word("session-number", number=outcome.session + 1)


def before_and_after_rows(pair: Compared, view: View) -> Rows | None:
    """Every check point with what both sessions say of it, and by how much it moved."""
    results = paired(pair.before.comparison, pair.after.comparison)
    if not results:
        return None
    degrees = word("degrees")
    columns = (
        SheetColumn((word("check-point"),), "left"), SheetColumn((word("required"), degrees)),
        SheetColumn((word("before"), degrees)),
        SheetColumn((word("before"), word("decided")), "left"),
        SheetColumn((word("after"), degrees)),
        SheetColumn((word("after"), word("decided")), "left"),
        SheetColumn((word("moved"), degrees)),
    )  # fmt: skip
    rows = []
    for old, new in results:
        moved = None
        if old.estimate_deg is not None and new.estimate_deg is not None:
            moved = new.estimate_deg - old.estimate_deg
        rows.append((
            Cell(_where(new, view)), Cell(points.band(new, view)),
            *_judged(old, view), *_judged(new, view), Cell(view.angle(moved, signed=True)),
        ))  # fmt: skip
    return Rows(columns, tuple(rows))


def _judged(result: PointResult, view: View) -> tuple[Cell, Cell]:
    known = result.estimate_deg is not None
    return Cell(points.found(result, view, spelt=True)), decision(result.told if known else None)


def _where(result: PointResult, view: View) -> Content:
    if result.kind == "vacuum":
        return word("row-vacuum", depression=points.place(result, view))
    where = points.place(result, view)
    return word("row-speed", speed=where) if result.kind == "check" else where


# Findings


def finding_rows(record: FindingsRecord, docket: Docket, view: View) -> Rows | None:
    """What was measured or seen, each with its limits, its state and its cost at the crank; what
    fails stands first."""
    seen = [row for state in _STATE_WORDS
            for row in record.rows if row.state is state]  # fmt: skip
    if not seen:
        return None
    columns = (
        SheetColumn((word("finding"),), "left"), SheetColumn((word("found"),)),
        SheetColumn((word("limits"),)), SheetColumn((word("state"),), "left"),
        SheetColumn((word("costs"),)),
    )  # fmt: skip
    return Rows(columns, tuple(_finding(row, docket, view) for row in seen))


def _finding(row: JudgedFinding, docket: Docket, view: View) -> tuple[Cell, ...]:
    cost: Content = ""
    if row.scatter is not None:
        cost = f"{figure(row.scatter.crank_plus_minus_deg)}°"
        if row.lobes is not None:
            cost = word("assumed-value", value=cost)
    return (
        Cell(_finding_name(row, docket)),
        Cell(_finding_value(row, docket, view)),
        Cell(_finding_limits(row, view)),
        Cell(word(f"state-{_STATE_WORDS[row.state]}"), STATE_MARKS.get(row.state, ""),
             row.state is State.FAIL),
        Cell(cost),
    )  # fmt: skip


def _finding_name(row: JudgedFinding, docket: Docket) -> Content:
    if row.key == "lobes_deg":
        return word("finding-lobes")
    if row.key == "leak":
        return word("finding-leak", seconds=short(docket.findings.limits.leak_test_s))
    return label(Findings, row.key)


def _finding_value(row: JudgedFinding, docket: Docket, view: View) -> Content:
    if row.value is None:
        described = parameters(Findings)[row.key]
        return word("label", text=described.options[getattr(docket.findings, row.key)])
    factor, unit = _finding_unit(row, view)
    stated = docket.findings.u.get(row.key)
    u = None if stated is None else stated * factor
    if row.key in ("lobes_deg", "leak"):
        return figure(row.value * factor, 2) + unit
    text = short(row.value * factor)
    return (f"{text} ± {short(u)}" if u else text) + unit


def _finding_limits(row: JudgedFinding, view: View) -> Content:
    factor, unit = _finding_unit(row, view)
    decimals = 2 if row.key == "leak" else 3  # 1 inHg is 3.386 kPa, and no hand reads the last
    low, high = ("" if v is None else short(v * factor, decimals) for v in (row.low, row.high))
    limits: Content = span(low, high, unit)
    if row.lobes is not None and row.is_range:
        limits = word("limits-for-lobes", limits=limits, lobes=str(row.lobes))
    if row.state is State.SHOWN and limits:
        return word("unusual-limits" if row.unusual else "usual-limits", limits=limits)
    return limits


def _finding_unit(row: JudgedFinding, view: View) -> tuple[float, str]:
    """What a stored value is multiplied by, and the unit with the space before it."""
    if row.key == "leak":
        return view.per_kpa, f" {view.depression_unit}"
    key = "lobe_error_most_deg" if row.key == "lobes_deg" else row.key
    described = parameters(FindingLimits if row.key == "lobes_deg" else Findings)[key]
    if described.kind != "number":
        return 1.0, ""
    symbol = described.quantity.stored.symbol
    return 1.0, symbol if symbol in ("°", "") else f" {symbol}"


def scatter_words(record: FindingsRecord) -> Content:
    """The spread of the spark that play and lobes add up to; empty where it is not known."""
    if record.scatter is None or record.scatter_state is State.NOT_MEASURED:
        return ""
    said = word(f"scatter-{_STATE_WORDS[record.scatter_state]}",
                value=figure(record.scatter.crank_plus_minus_deg))  # fmt: skip
    if record.lobes is None:
        return said
    return word("scatter-for-lobes", said=said, lobes=str(record.lobes))


# Alterations


def alteration_rows(docket: Docket) -> Rows | None:
    """The alterations made, in the order of the docket."""
    made = [a for a in docket.history if a != Alteration()]
    if not made:
        return None
    columns = (
        SheetColumn((label(Alteration, "date"),), "left"),
        SheetColumn((label(Alteration, "what"),), "left"),
        SheetColumn((label(Alteration, "amount"),)), SheetColumn((word("read-before"),), "left"),
        SheetColumn((word("read-after"),), "left"),
        SheetColumn((label(Alteration, "note"),), "left"),
    )  # fmt: skip
    rows = tuple(
        (Cell(plain(a.date)), Cell(plain(a.what)), Cell(_amount(a)),
         Cell(_session(docket, a.before_session)), Cell(_session(docket, a.after_session)),
         Cell(plain(a.note)))
        for a in made
    )  # fmt: skip
    return Rows(columns, rows)


def _amount(alteration: Alteration) -> str:
    text, unit = short(alteration.amount), plain(alteration.unit)
    return f"{text}{'' if unit in ('°', '') else ' '}{unit}" if text else ""


def _session(docket: Docket, number: int | None) -> Content:
    if number is None:
        return ""
    if not 1 <= number <= len(docket.sessions):
        return word("session-number", number=number)
    title = plain(docket.sessions[number - 1].title)
    return f"{number} {title}" if title else word("session-number", number=number)


# Setting up


def setting_facts(outcome: Outcome, view: View) -> Facts:
    """Static, total, idle, gap, ceiling and pulley, as far as they are known; crank degrees."""
    setting = outcome.docket.setting_up
    found: Facts = []
    if setting.static_deg is not None:
        found.append((word("card-static"), static_words(short(setting.static_deg, 2))))
        if outcome.prediction is not None:
            total = total_for_static(outcome.docket, outcome.prediction)
            told = total_words(total.total_deg, total.engine_rpm, total.depression_kpa, view)
            found.append((word("card-total"), told))
    if setting.ceiling_total_deg is not None:
        passed = any(state.over_deg is not None for state in _states(outcome))
        most = word("never-but-passed" if passed else "never-in-a-state",
                    value=short(setting.ceiling_total_deg))  # fmt: skip
        found.append((label(SettingUp, "ceiling_total_deg"), most))
    if setting.idle_rpm is not None:
        found.append((word("card-idle"), word("speed-of", speed=figure(setting.idle_rpm, 0))))
    found += gap_and_dwell(outcome)
    if setting.altitude_taken_m:
        found.append((label(SettingUp, "altitude_m"), f"{short(setting.altitude_taken_m, 0)} m"))
    if setting.pulley_mm is not None:
        found.append((label(SettingUp, "pulley_mm"), f"{short(setting.pulley_mm, 1)} mm"))
    return found


def lamp_rows(outcome: Outcome, view: View) -> Rows | None:
    """What the lamp must show; None where static or curve are not known."""
    if outcome.prediction is None:
        return None
    try:
        card = lamp_card(outcome.docket, outcome.prediction, instrument_of(outcome),
                         bands=card_bands(outcome))  # fmt: skip
    except BobweightError:
        return None
    over = word("pipe-off-short" if outcome.docket.may_have_capsule else "lamp-shows")
    columns = [
        SheetColumn((word("tachometer"), word("speed-unit"))),
        SheetColumn((over, word("rising"))),
        SheetColumn((over, word("falling"))),
    ]
    keys = ["off_rising_deg", "off_falling_deg"]
    if card.on_rising_deg is not None:
        held = f"{view.depression(card.depression_kpa)} {view.depression_unit}"
        columns.append(SheetColumn((word("pump-at", depression=held), word("rising"))))
        keys.append("on_rising_deg")
    rows = tuple(
        (Cell(figure(card.shown_rpm[i], 0)), *(Cell(figure(getattr(card, k)[i])) for k in keys))
        for i in range(card.engine_rpm.size)
    )
    return Rows(tuple(columns), rows)


def _states(outcome: Outcome) -> tuple[StateTotal, ...]:
    """The driving states; none where static or curve are not known."""
    if outcome.prediction is None:
        return ()
    try:
        return state_totals(outcome.docket, outcome.prediction)
    except BobweightError:
        return ()


def state_rows(outcome: Outcome, view: View) -> Rows | None:
    """The totals of the driving states, at the docket's altitude too where it has one."""
    totals = _states(outcome)
    with_capsule = outcome.docket.may_have_capsule  # else a depression moves nothing
    high = with_capsule and outcome.docket.setting_up.altitude_taken_m > 0
    assumed = outcome.docket.setting_up.states == USUAL_STATES  # nobody entered his own
    name = "driving-state-usual" if assumed else "driving-state"
    columns = [SheetColumn((word(name),), "left"), SheetColumn((word("speed-unit"),))]
    if with_capsule:
        columns.append(SheetColumn((view.depression_unit,)))
    columns.append(SheetColumn((word("card-total"), "°")))
    if high:
        columns.append(SheetColumn((word("up-there"), "°")))
    rows = []
    for state in totals:
        over = state.over_deg is not None
        cells = [
            Cell(plain(state.name), "cross" if over else "", over),
            Cell(figure(state.engine_rpm, 0)),
        ]  # fmt: skip
        if with_capsule:
            cells.append(Cell(view.depression(state.depression_kpa)))
        cells.append(Cell(figure(state.total_deg), bold=over))
        if high:
            cells.append(Cell(figure(state.altitude_total_deg)))
        rows.append(tuple(cells))
    return Rows(tuple(columns), tuple(rows)) if rows else None


# The record in short, for the first page


def in_short(
    outcome: Outcome, pair: Compared | None, view: View
) -> list[tuple[Content, list[Content]]]:
    """The record as labelled phrases: what was found, altered and set; what is empty is left
    out."""
    found: list[tuple[Content, list[Content]]] = [
        (word("short-found"), _found_phrases(outcome.docket, view)),
        (word("short-altered"), _altered_phrases(outcome.docket)),
        (word("short-compared"), [] if pair is None else _compared_phrases(pair)),
        (word("short-set"), _set_phrases(outcome, view)),
    ]  # fmt: skip
    return [(title, phrases) for title, phrases in found if phrases]


def in_short_of(line: tuple[Content, list[Content]]) -> str:
    """Which part of the record at length a line in short stands for: ``findings``, ``altered``,
    ``compared`` or ``set``."""
    code = line[0].code.removeprefix("short-") if isinstance(line[0], Word) else ""
    return {"found": "findings"}.get(code, code)


def with_rest_named(page: Sequence[Element], told: Collection[str],
                    right_mm: float) -> list[Element]:  # fmt: skip
    """The first page, its lines in short saying that what they leave out stands overleaf, where it
    is told there at length."""
    made, part = [], ""
    for element in page:
        if isinstance(element, Text) and isinstance(element.text, Word):
            if element.text.code.startswith("short-"):
                part = in_short_of((element.text, []))
            elif element.text.code == "and-more" and part in told:
                text = word("and-more-overleaf", **element.text.facts)
                element = replace(element, text=text, room_mm=right_mm - element.x_mm)
        made.append(element)
    return made


def _found_phrases(docket: Docket, view: View) -> list[Content]:
    """The spread of the spark, how many rows stand in each state, then which of them are amiss."""
    record = judge_findings(docket)
    scatter = scatter_words(record)
    phrases: list[Content] = [scatter] if scatter else []
    for state, name in _STATE_WORDS.items():
        if record.count(state):
            phrases.append(word(f"count-{name}", count=record.count(state)))
    for state in (State.FAIL, State.BORDERLINE, State.SHOWN):
        phrases += [
            _judged_phrase(row, docket, view) for row in record.rows
            if row.state is state and (state is not State.SHOWN or row.unusual)
        ]  # fmt: skip
    return phrases


def _judged_phrase(row: JudgedFinding, docket: Docket, view: View) -> Content:
    limits = _finding_limits(row, view)
    facts = {"name": _finding_name(row, docket), "value": _finding_value(row, docket, view)}
    if limits:
        return word(f"phrase-{_STATE_WORDS[row.state]}", limits=limits, **facts)
    return word(f"phrase-plain-{_STATE_WORDS[row.state]}", **facts)


def _altered_phrases(docket: Docket) -> list[Content]:
    made = [a for a in docket.history if a != Alteration()]
    phrases: list[Content] = []
    for alteration in reversed(made):
        parts = [plain(alteration.date), plain(alteration.what), _amount(alteration)]
        text = " ".join(part for part in parts if part)
        if text:
            phrases.append(f"{text}.")
    return phrases


def _compared_phrases(pair: Compared) -> list[Content]:
    found: dict[str, object] = {"count": len(pair.after.comparison.all_points)}
    if not found["count"]:
        return []
    for key, judged in (("before", pair.before), ("after", pair.after)):
        # Not decisions: of the session before only its readings speak, and they seldom decide.
        measured = [p.low_deg <= p.estimate_deg <= p.high_deg for p in judged.comparison.all_points
                    if p.estimate_deg is not None]  # fmt: skip
        found |= {key: sum(measured), f"{key}_name": session_name(judged)}
    return [word("phrase-compared", **found)]


def _set_phrases(outcome: Outcome, view: View) -> list[Content]:
    setting = outcome.docket.setting_up
    phrases: list[Content] = []
    if setting.static_deg is not None and outcome.prediction is not None:
        total = total_for_static(outcome.docket, outcome.prediction)
        phrases.append(
            word("phrase-total", static=static_words(short(setting.static_deg, 2)),
                 total=total_words(total.total_deg, total.engine_rpm, total.depression_kpa, view))
        )  # fmt: skip
    for name, value in gap_and_dwell(outcome):
        phrases.append(word("phrase-fact", name=name, value=value))
    return phrases
