"""What the tables and lists of the sheet say: rows of cells, labels and values."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import LINKAGE_TABLES, Linkage, Mechanism, Spring
from bobweight.core.docket.particulars import Particulars
from bobweight.core.docket.vacuum import Capsule
from bobweight.core.figure import points
from bobweight.core.figure.description import Content, word
from bobweight.core.figure.numbers import MINUS, PLUS_MINUS, aligned, figure, short, stated, typed
from bobweight.core.figure.view import View
from bobweight.core.mechanics.checks import mechanism_problems
from bobweight.core.mechanics.places import as_polar
from bobweight.core.mechanics.predict import whole_rpm
from bobweight.core.problems import Path
from bobweight.core.record import Record, is_assumed, parameters, taken
from bobweight.core.sheet.description import plain
from bobweight.core.sheet.layout import Cell, Rows, SheetColumn

if TYPE_CHECKING:
    from bobweight.core.judgement.compare import PointResult
    from bobweight.core.judgement.outcome import Outcome

Facts = list[tuple[Content, Content]]
VERDICT_MARKS = {
    "inside": "tick", "looks inside": "tick", "outside": "cross", "looks outside": "cross",
    "cannot tell": "query", "cannot be told": "query", "not read": "query", "being judged": "query",
}  # fmt: skip


def label(record: type[Record] | Record, key: str) -> Content:
    """The label of a stored value, to be translated."""
    return word("label", text=parameters(record)[key].label)


def option(record: Record, key: str) -> Content:
    """The words of a chosen option, to be translated."""
    return word("label", text=parameters(record)[key].options[getattr(record, key)])


def as_known(record: Record, key: str, told: Content) -> Content:
    """What is told of a value; of one that nobody entered also that it is assumed."""
    return word("assumed-value", value=told) if is_assumed(record, key) else told


def or_assumed(record: Record, key: str) -> Content:
    """A count or a chosen option; what is taken where nobody entered it says that it is assumed."""
    value = taken(record, key)
    told: Content = str(value)
    if options := parameters(record)[key].options:
        told = word("label", text=options[value])
    return as_known(record, key, told)


def static_words(written: str) -> Content:
    """Static timing, already written: so far before top dead centre, or after it."""
    if written == "0":
        return word("at-dead-centre")
    if written.startswith(MINUS):
        return word("degrees-after", value=written.removeprefix(MINUS))
    return word("degrees-before", value=written)


def crank_turns(record: Particulars) -> tuple[Content, Content]:
    """Crank turns for one of the distributor, told as assumed where nobody entered them."""
    turns = as_known(record, "drive_ratio", short(record.ratio_taken))
    return label(record, "drive_ratio"), turns


def particulars(docket: Docket) -> Facts:
    """Labels and values of the particulars that are filled in; always the turns of the crank, which
    figures there are counted by; of lobes and rotation that they are not known only where anything
    of the unit was entered."""
    record = docket.particulars
    found: Facts = []
    for key in ("unit_number", "date_code", "fitted_to", "owner", "job_number", "received",
                "restorer"):  # fmt: skip
        written = plain(getattr(record, key))
        if written:
            found.append((label(record, key), written))
    for key in ("lobes", "rotation"):
        if not is_assumed(record, key):
            found.append((label(record, key), or_assumed(record, key)))
        elif record.is_entered:
            found.append((label(record, key), word("not-entered")))
    found.append(crank_turns(record))
    if record.stamped_maximum_deg is not None:
        value: Content = word("degrees-distributor", value=typed(record.stamped_maximum_deg))
        found.append((label(record, "stamped_maximum_deg"), value))
    if docket.setting_up.static_deg is not None:
        value = stated(docket.setting_up, "static_deg")
        found.append((label(docket.setting_up, "static_deg"), static_words(value)))
    return found


def total_words(total_deg: float, rpm: float, depression_kpa: float, view: View) -> Content:
    """A total at the crank with where it holds; the depression where there is one."""
    told = {"total": figure(total_deg), "speed": figure(rpm, 0)}
    if not depression_kpa:
        return word("card-total-at", **told)
    held = f"{view.depression(depression_kpa)} {view.depression_unit}"
    return word("card-total-held", depression=held, **told)


def check_point_rows(outcome: Outcome, view: View) -> Rows | None:
    """Check points with what is predicted, what was measured, and the decision on each."""
    comparison = outcome.comparison
    rows = [(points.place(p, view), p) for p in comparison.all_points if p.kind != "vacuum"]
    return _result_rows((word("speed"), word("speed-unit")), rows, view) if rows else None


def vacuum_rows(outcome: Outcome, view: View) -> Rows | None:
    """Vacuum check points likewise."""
    results = outcome.comparison.vacuum_points
    rows = list(zip(aligned([view.depression(p.depression_kpa) for p in results]), results,
                    strict=True))  # fmt: skip
    heading = (word("depression"), view.depression_unit)
    return _result_rows(heading, rows, view) if rows else None


def _result_rows(heading: tuple[Content, ...], rows: Sequence[tuple[Content, PointResult]],
                 view: View) -> Rows:  # fmt: skip
    """One grid for speed and vacuum check points; columns that would be empty are left out."""
    predicted = any(r.predicted_deg is not None for _, r in rows)
    measured = any(r.estimate_deg is not None for _, r in rows)
    columns = [SheetColumn(heading), SheetColumn((word("required"), word("degrees")))]
    if predicted:
        columns += [SheetColumn((word("predicted-column"), word("degrees"))),
                    SheetColumn((word("off"), word("middle")))]  # fmt: skip
    if measured:
        columns += [SheetColumn((word("measured"), word("degrees"))),
                    SheetColumn((word("off"), word("middle")))]  # fmt: skip
        columns += [SheetColumn((word("chance"), word("inside-of-it"))),
                    SheetColumn((word("decision"),), "left")]  # fmt: skip
    elif predicted:
        columns.append(SheetColumn((word("predicted-is"),), "left"))
    made = [tuple(_result_cells(place, r, view, predicted, measured)) for place, r in rows]
    return Rows(tuple(columns), tuple(made))


def _result_cells(place: Content, result: PointResult, view: View, predicted: bool,
                  measured: bool) -> list[Cell]:  # fmt: skip
    cells = [Cell(place), Cell(points.band(result, view))]
    if predicted:
        cells += [
            Cell(
                points.predicted(result, view, spelt=not measured),
                "cross" if measured and result.predicted_inside is False else "",
            ),
            Cell(view.angle(result.predicted_deviation_deg, signed=True)),
        ]
    if measured:
        cells += [
            Cell(points.found(result, view)),
            Cell(view.angle(result.deviation_deg, signed=True)),
            Cell(points.chance(result)),
            decision(result.told),
        ]
    elif predicted:
        inside = result.predicted_inside
        cells.append(decision(None if inside is None else "inside" if inside else "outside"))
    return cells


def decision(told: str | None) -> Cell:
    """A decision as a mark and a word; outside stands in bold. A dash where there is none."""
    if told is None:
        return Cell("\N{EN DASH}")
    return Cell(points.decision(told), VERDICT_MARKS[told], told in ("outside", "looks outside"))


def capsule_facts(outcome: Outcome, view: View) -> Facts:
    """Labels and values of the capsules as known: their trade figures, or their dimensions."""
    found: Facts = []
    for capsule in outcome.docket.capsules:
        if capsule.given_as != "none":
            found += _facts_of(capsule, view)
    return found


def _facts_of(capsule: Capsule, view: View) -> Facts:
    described = parameters(capsule)
    found: Facts = [
        (label(capsule, key), word("label", text=described[key].options[getattr(capsule, key)]))
        for key in ("acts", "fed_from")
    ]
    if capsule.given_as == "triple":
        for key in ("start_kpa", "full_kpa"):
            value = getattr(capsule, key)
            if value is not None:
                text = f"{view.depression(value)} {view.depression_unit}"
                found.append((label(capsule, key), text))
        if capsule.full_deg is not None:
            value = word(f"degrees-{view.moving.frame}", value=view.angle(capsule.full_deg))
            found.append((label(capsule, "full_deg"), value))
        return found
    for key in ("area_mm2", "spring_rate_n_per_mm", "preload_n", "travel_mm", "lever_mm"):
        value = stated(capsule, key) or short(taken(capsule, key))
        if value:
            told = f"{value} {described[key].quantity.stored.symbol}"
            found.append((label(capsule, key), as_known(capsule, key, told)))
    return found


def spring_rows(outcome: Outcome, view: View) -> Rows | None:
    """The springs as measured, and where each is taken up."""
    springs = outcome.docket.mechanism.springs
    if not springs:
        return None
    labelled = any(plain(s.label) for s in springs)
    columns = [SheetColumn((word("spring"),), "left")]
    if labelled:
        columns.append(SheetColumn((word("own-mark"),), "left"))
    columns += [
        SheetColumn((word("peg-on"),), "left"),
        SheetColumn((word("rate"), "N/mm")),
        SheetColumn((word("free-length"), "mm")),
        SheetColumn((word("slack"), "mm")),
        SheetColumn((word("tension"), "N")),
        SheetColumn((word("post"), word("mm-at-degrees"))),
        SheetColumn((word("peg"), word("mm-at-degrees"))),
        SheetColumn((word("tang"), "mm")),
        SheetColumn((word("taken-up"), word("degrees"))),
    ]
    taken = {} if outcome.prediction is None else {
        t.spring: view.at(t.advance_deg) for t in outcome.prediction.take_ups
    }  # fmt: skip
    rows = []
    missing = _missing(outcome.docket.mechanism)

    def known(key: str, value: Content) -> Cell:
        return Cell(word("not-measured") if ("springs", index, key) in missing else value)

    for index, spring in enumerate(springs):
        at_rest = "" if outcome.prediction is None else word("from-rest")
        placed = spring
        if outcome.prediction is not None:  # else its distances may make no triangle
            placed = as_polar(outcome.docket.mechanism, index)
        cells = [Cell(_role(springs, index))]
        if labelled:
            cells.append(Cell(plain(spring.label)))
        cells += [
            Cell(option(spring, "peg_on")),
            known("rate_n_per_mm", stated(spring, "rate_n_per_mm")),
            known("free_length_mm", stated(spring, "free_length_mm")),
            Cell(stated(spring, "slack_mm")),
            Cell(stated(spring, "initial_tension_n")),
            known("post_radius_mm", _polar(placed.post_radius_mm, placed.post_angle_deg)),
            known("peg_radius_mm", _polar(placed.peg_radius_mm, placed.peg_angle_deg)),
            Cell(_tang(spring)),
            Cell(taken.get(index, at_rest)),
        ]
        rows.append(tuple(cells))
    return Rows(tuple(columns), tuple(rows))


def _role(springs: Sequence[Spring], index: int) -> Content:
    """What a spring is, with its number where it is not alone."""
    spring, alike = springs[index], [s.role for s in springs].count(springs[index].role)
    if alike == 1:
        return option(spring, "role")
    number = sum(s.role == spring.role for s in springs[: index + 1])
    return word("numbered", name=option(spring, "role"), number=number)


def _tang(spring: Spring) -> str:
    """How far its tang was bent; nothing of a spring that nobody measured."""
    if spring.tang_mm:
        return figure(spring.tang_mm, 2, signed=True)
    return "" if spring.rate_n_per_mm is None and spring.free_length_mm is None else "0"


def _polar(radius_mm: float | None, angle_deg: float | None) -> Content:
    if radius_mm is None or angle_deg is None:
        return short(radius_mm, 2)
    return word("polar", radius_mm=short(radius_mm, 2), angle_deg=short(angle_deg, 1))


_WEIGHT_KEYS = ("mass_g", "pivot_radius_mm", "cg_mm", "rest_angle_deg")
_LINKAGE_KEYS = {
    "constant": ("ratio",),
    "slot": ("pin_radius_mm", "pin_angle_deg"),
    "link": ("pin_radius_mm", "pin_angle_deg", "foot_radius_mm", "link_mm"),
}
_OWN_KEYS = (*_WEIGHT_KEYS[:2], "place_deg", *_WEIGHT_KEYS[2:], "ratio", *_LINKAGE_KEYS["link"])
_FRICTION = ("heel_drag_nmm", "stick_nmm", "grip")


def settings(docket: Docket, view: View) -> Facts:
    """Labels and values of weights, linkage, stop and friction; what is unknown is left out. On a
    page of crank figures those of the distributor say so."""
    mechanism = docket.mechanism
    weights, linkage = mechanism.weights, mechanism.linkage
    entered = _numbers(weights, _WEIGHT_KEYS)
    if not (entered or weights.each or mechanism.springs) and mechanism.stop_deg is None:
        return []
    begun = entered or weights.each or linkage != Linkage() or mechanism.stop_deg is not None
    blank = {path[-1] for path in _missing(mechanism) if begun and path[0] != "springs"}
    found: Facts = []
    if entered or weights.each:
        found.append((label(weights, "count"), or_assumed(weights, "count")))
        found += _numbers(weights, _WEIGHT_KEYS, blank)
    if linkage != Linkage():
        found.append((label(linkage, "kind"), option(linkage, "kind")))
    found += _numbers(linkage, _LINKAGE_KEYS.get(linkage.kind, ()), blank)
    for number, own in enumerate(weights.each[: weights.count_taken], start=1):
        found += [
            (word("of-weight", number=number, name=name), value)
            for name, value in _numbers(own, _OWN_KEYS)
        ]
    if (table := LINKAGE_TABLES.get(linkage.kind)) is not None:
        found.append((word(f"rows-{linkage.kind}"), str(len(getattr(linkage, table)))))
    told = _numbers(mechanism, ("stop_deg", *_FRICTION), blank, view.frame != "distributor")
    return found + told


def _missing(mechanism: Mechanism) -> set[Path]:
    """The places of figures that the curve needs and that are blank, inside the mechanism."""
    return {p.path for p in mechanism_problems(mechanism) if p.code == "missing"}


def _numbers(record: Record, keys: Sequence[str], blank: Collection[str | int] = (),
             say_frame: bool = False) -> Facts:  # fmt: skip
    """Labels and values of what is known, and of what is wanted and blank."""
    found: Facts = []
    for key in keys:
        value = stated(record, key)
        if not value and key in blank:
            found.append((label(record, key), word("not-measured")))
        if value:
            parameter = parameters(record)[key]
            symbol = parameter.quantity.stored.symbol
            gap = "" if symbol in ("", "°") else " "
            told: Content = f"{value}{gap}{symbol}"
            if say_frame and parameter.frame == "distributor":
                told = word("degrees-distributor", value=value)
            found.append((label(record, key), told))
    return found


def key_figures(outcome: Outcome, view: View) -> list[Content]:
    """Start, full advance, jumps and plateaus of the prediction, each as one phrase."""
    prediction = outcome.prediction
    if prediction is None:
        return []
    found: list[Content] = [
        word("starts-at", speed=view.speed(whole_rpm(prediction.start_rpm))),
        word("full-at", advance=view.at(prediction.full_deg),
             speed=view.speed(whole_rpm(prediction.full_rpm))),
    ]  # fmt: skip
    for jump in prediction.jumps:
        found.append(word(f"jumps-{jump.direction}", speed=view.speed(jump.speed_rpm),
                          low=view.at(jump.from_deg), high=view.at(jump.to_deg)))  # fmt: skip
    for plateau in prediction.plateaus:
        between = {"low": view.speed(plateau.from_rpm), "high": view.speed(plateau.to_rpm)}
        found.append(word("stands-still", advance=view.at(plateau.advance_deg), **between))
    return found


def how_read(outcome: Outcome, view: View) -> Content:
    """With what the readings of the session were taken, and the signs of the tables below where
    they have any; empty without readings."""
    session = view.session_of(outcome.docket)
    if session is None:
        return ""
    read = [r for r in session.readings if None not in (r.speed_rpm, r.angle_deg)]
    if not read:
        return ""
    instrument = session.instrument
    pumped = sum(r.depression_kpa is not None for r in read)
    told = word(
        f"read-with-{instrument.kind_taken}",
        title=plain(session.title), date=plain(session.date),
        count=len(read), pumped=word("read-pumped", count=pumped) if pumped else "",
        static=as_known(instrument, "static_deg", f"{short(instrument.static_taken_deg, 2)}°"),
        u_speed=as_known(instrument, "u_speed_rpm", short(instrument.u_speed_taken_rpm, 1)),
        u_angle=as_known(instrument, "u_angle_deg", f"{short(instrument.u_angle_taken_deg, 2)}°"),
        pm=PLUS_MINUS, left_out=sum(r.left_out for r in session.readings),
    )  # fmt: skip
    signs = any(p.predicted_inside is False for p in outcome.comparison.all_points)
    return word("read-and-signs", read=told) if signs else told
