"""What a heading says of its column: its meaning, its unit, its frame. Words of the trade."""

from __future__ import annotations

import re

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError
from bobweight.core.tables.cells import AFTER, BEFORE, WAYS
from bobweight.core.units import (
    ANGLE,
    DEPRESSION,
    FORCE,
    LENGTH,
    QUANTITIES,
    SPEED,
    SPRING_RATE,
    Quantity,
    plain_unit,
)

IGNORED, UNKNOWN, ROW_NUMBER = "ignored", "unknown", "row_number"

QUANTITY_OF: dict[str, Quantity] = {
    "speed_rpm": SPEED,
    "angle_deg": ANGLE,
    "rising_deg": ANGLE,
    "falling_deg": ANGLE,
    "least_deg": ANGLE,
    "most_deg": ANGLE,
    "band_deg": ANGLE,
    "tolerance_deg": ANGLE,
    "depression_kpa": DEPRESSION,
    "u_speed_rpm": SPEED,
    "u_angle_deg": ANGLE,
    "u_depression_kpa": DEPRESSION,
    "rate_n_per_mm": SPRING_RATE,
    "initial_tension_n": FORCE,
    "free_length_mm": LENGTH,
    "u_rate_n_per_mm": SPRING_RATE,
    "u_initial_tension_n": FORCE,
    "u_free_length_mm": LENGTH,
}
"""The meanings that are quantities."""

MEANINGS: dict[str, tuple[str, ...]] = {
    "readings": (
        "speed_rpm", "angle_deg", "rising_deg", "falling_deg", "direction", "depression_kpa",
        "left_out", "note", "u_speed_rpm", "u_angle_deg", "u_depression_kpa", "read_with",
    ),
    "target": (
        "speed_rpm", "depression_kpa", "band_deg", "least_deg", "most_deg", "tolerance_deg",
        "frame",
    ),
    "vacuum": ("depression_kpa", "band_deg", "least_deg", "most_deg", "tolerance_deg", "frame"),
    "tray": (
        "label", "count", "rate_n_per_mm", "u_rate_n_per_mm", "initial_tension_n",
        "u_initial_tension_n", "free_length_mm", "u_free_length_mm", "known_from", "where_from",
        "note",
    ),
}  # fmt: skip
"""What a column of each kind of table can mean; what is left is ``ignored`` or ``row_number``."""

_ROW_NUMBER = re.compile(
    r"(?:#|nr|n°|№|row|item|idx|index|s\.? ?no|sl\.? ?no|serial|line|pt|points?|point no|step"
    r"|reading(?: ?(?:no|#))?|seq(?:uence)?|nº|no)\.?", re.I,
)  # fmt: skip
_SPEED_UNIT = (
    r"rpm|(?:revs?|r|u|tr|1|rot|omw)\s*\.?\s*/\s*(?:min(?:ute)?|s(?:ec(?:ond)?)?)\b"
    r"|r\.p\.m\.?|revs? per (?:min|sec)\w*|min(?:-1|⁻¹)|\brps\b|\brad/s(?:ec)?\b"
)
_ABOUT = r"(?:engine|distributor|speeds?|revs|rpm|readings?|run|going|with|the|on|way)"
_OTHER = (
    r"\btemp|°\s*[cf]\b|\bdeg\s*[cf]\b|celsius|fahrenheit|dwell|\bvolt|\bamp|\btime\b|\bdate\b"
    r"|\bclock\b|\bhours?\b|elapsed|\bsec(?:onds?)?\b|\bms\b|humidity|\bcam angle|\bangle de came"
    r"|schlie(?:ß|ss)winkel|torque|\bpower\b|\bload\b"
    r"|throttle|lambda|\bafr\b|\berrors?\b|\bdev(?:iation)?\b|\bdiff|\bdelta\b|manifold"
    r"|\bbaro|\batmos|\bambient|absolute|\babs\b|pressure|km\s*/?\s*h|\bmph\b|\bm/s\b|\bgap\b"
    r"|\bstd\b|\bsigma\b|\broad\b|\bhz of\b|correct(?:ed|ion)|scatter|spread"
)
_OTHER_IN_READINGS = (
    r"\b(target|spec(?:ification)?|nominal|predicted|expected|wanted|limit|least|most|min(?:imum)?"
    r"|max(?:imum)?|low|high|lower|upper|from|book|factory|mean|average|avg)\b"
    r"|\bstatic\b"
)
_SPEED = rf"\bspeed|\brevs\b|{_SPEED_UNIT}|drehzahl|r[ée]gime|toerental|\bgiri\b"
_ANGLE = (
    rf"°|\bdeg|\badvance|\bangle|\btiming|{BEFORE}|z[üu]nd(?:winkel|zeitpunkt|ung\b)|verstellung"
    r"|\bavance|anticipo|\bgrad\b"
)
_VACUUM = r"\bdepression|\bvac\b|\bvacuum|\bsuction|unterdruck|d[ée]pression"
_VACUUM_OFF = (
    r"\b(?:no|without|less) vac(?:uum)?\b|\bvac(?:uum)?\W+(?:off|plugged|disconnected|removed)\b"
)
_PRESSURE = (
    r"\bmap\b|\bboost\b"
    r"|\b(?:manifold|inlet|intake|absolute|abs\.?) (?:absolute |abs\.? |air )*press(?:ure)?\b"
)
_DEPRESSION = (  # a unit of pressure names it alone: with another word it is of oil, fuel, tyres
    rf"{_VACUUM}|hg\b|\bmercury\b|h2o\b|\btorr\b|^\W*(?:m?bar|k?pa|hpa|psi)\W*$"
)
_LEAST = r"\b(least|low|lower|lowest|min|mini|minimum|from|von)\b"
_MOST = r"\b(most|high|higher|highest|max|maxi|maximum|to|upper|bis)\b"
_ONE_SIDE = r"^\s*(?:[+\-−]|plus|minus)\s*$"
_TOLERANCE = rf"±|\+/-|\btol(?:erance)?\b|{_ONE_SIDE}"
_OTHER_WAY = rf"\bretard|{AFTER}"
_THIS_WAY = rf"\badvance|{BEFORE}|\bbefore\b"
_EARLY = rf"(?:advanced?|{BEFORE}|before)"
_LATE = rf"(?:retard(?:ed)?|{AFTER}|after)"
_TURNED = "|".join(  # a sign counts behind its word or bracketed before it: a dash is none
    rf"\b{way}[\s(\[:=]*(?:is |as )?(?:{sign}\s*(?:$|[)\],;/])|{word}\b)"
    rf"(?!\s*(?:=|is|for)?\s*{other})|(?:(?:^|[(\[,;/])\s*{sign}|\b{word})\s*(?:=|is|for)?\s*{way}\b"
    for way, sign, word, other in (
        (_EARLY, "[-−–]", r"(?:neg(?:ative)?|minus|below (?:zero|0))", _LATE),
        (_LATE, r"\+", r"(?:pos(?:itive)?|plus)", _EARLY),
    )
)
_NOTE = r"\b(notes?|remarks?|comments?)\b"
_UNCERTAIN = re.compile(r"\s*(u\b(?!\s*/)|u_|±|\+/-|standard uncertainty|uncertainty)", re.I)

_RULES: dict[str, tuple[tuple[str, str], ...]] = {  # the first that fits names the column
    "readings": (
        ("left_out", r"\bleft out\b"),
        ("read_with", r"\bread with\b"),
        ("note", _NOTE),
        ("direction", r"\b(direction|trend|way|sense)\b"),
        ("speed_rpm", _SPEED),
        (UNKNOWN, r"\bvac.*(?:\badvance|\bdeg|\bangle|°)|advance (?:by|from) vac"),
        ("depression_kpa", rf"{_VACUUM}|{_PRESSURE}"),
        (IGNORED, _OTHER),
        (IGNORED, _OTHER_IN_READINGS),
        ("angle_deg", _ANGLE),
        ("depression_kpa", _DEPRESSION),
    ),
    "target": (
        ("note", _NOTE),
        ("frame", r"^ *frame *$"),
        ("tolerance_deg", _TOLERANCE),
        ("speed_rpm", _SPEED),
        ("depression_kpa", _PRESSURE),
        (IGNORED, _OTHER),
        ("least_deg", _LEAST),
        ("most_deg", _MOST),
        ("band_deg", rf"{_ANGLE}|\bband\b|\brange\b|\blimits?\b|\bnominal\b"),
        ("depression_kpa", _DEPRESSION),
    ),
    "tray": (
        ("note", _NOTE),
        ("where_from", r"\b(where|source|origin|supplier)\b"),
        ("known_from", r"\bknown\b"),
        ("count", r"\b(count|how many|qty|quantity|pieces|pcs|off|anzahl|st(?:ü|ue)ck|nombre)\b"
         r"|\bnumber of\b|^number$"),
        ("rate_n_per_mm", r"^k\b|\b(rate|stiffness|feder(?:rate|konstante)|raideur)\b"),
        ("free_length_mm", r"\b(free|unloaded|ungespannte?|libre|l0)\b"),
        (IGNORED, r"\b(wire|body|coils?|turns|diameter|dia|od|id|price|date|at \d+|max(?:imum)?"
         r"|load(?:ed)?|breaking|stretched|extended|fitted|installed|working|solid)\b|ø"),
        ("initial_tension_n", r"\b(tension|preload|vorspannung)\b"),
        ("free_length_mm", r"\b(length|l(?:ä|ae)nge|longueur)\b"),
        ("label", r"\b(label|spring|mark|name|tin|bag|box|tag|drawer|pot|jar|ref|part|colou?r|no)\b"
        ),
    ),
}  # fmt: skip
_RULES["vacuum"] = tuple(
    (meaning, _DEPRESSION if meaning == "depression_kpa" else words)
    for meaning, words in _RULES["target"]
)
_STATIC_OUT = (
    r"\b(?:without|less|no|excl\w*\.?|not incl\w*\.?) static"
    r"|\bstatic(?: is)? (?:not incl\w*|excl\w*|taken off)|\bohne grund\w*"
)
_STATIC_IN = r"(?:\b(?:with|incl\w*\.?|plus)|\+) static|\bstatic(?: is)? (?:incl\w*|added)"
_WITHOUT_STATIC = rf"{_STATIC_OUT}|\bexcl|\badvance\b|centrifugal|mechanical"
_SIDES = {
    "distributor": r"\bdistribut|\bdizzy\b|\bdistr?\b|verteiler|\ballumeur|\bdrpm\b|\bd\.r\.p\.m",
    "crank": r"\bengine|\bcrank|\bcrk\b|\bflywheel|\bmotor|\bmoteur|kurbelwelle|\bvilebrequin"
    r"|\bkw\b|\berpm\b|\be\.r\.p\.m",
}
_FRAMES = (
    ("distributor", _SIDES["distributor"]),
    ("crank", rf"{_STATIC_OUT}|\bexcl"),
    ("crank-static", rf"{_STATIC_IN}|\bincl|{BEFORE}|\btotal\b"),
    ("crank", _SIDES["crank"]),
)
_FIGURES = r"(?:rpm|r\.p\.m|revs\b|speeds?|degrees?|degs?\b|°|figures|values|drehzahl|grad\b)"
CRANK_UNTOLD = "crank?"
"""Crank degrees of which it is not told whether static is in them."""


@frozen
class Heading:
    """What a heading says; ``sure`` is False where it names the meaning by its unit alone, or a
    unit that the quantity has not."""

    meaning: str = UNKNOWN
    unit: str | None = None
    frame: str | None = None
    sure: bool = True
    problem: str | None = None


def heading_of(text: str, kind: str) -> Heading:
    """What a heading says of a column in a table of this kind (``readings``, ``target``,
    ``vacuum``, ``tray``)."""
    plain = " ".join(text.replace("_", " ").split()).strip().lower()
    if not plain:
        return Heading()
    if plain.replace(" ", "_") in MEANINGS[kind]:  # a field by its own name
        key = plain.replace(" ", "_")
        unit = QUANTITY_OF[key].stored.symbol if key in QUANTITY_OF else None
        return Heading(key, unit)
    if _ROW_NUMBER.fullmatch(plain) and kind != "tray":
        return Heading(ROW_NUMBER)
    uncertain = kind in ("readings", "tray") and _UNCERTAIN.match(plain)
    body = plain[uncertain.end() :] if uncertain else plain
    meaning = _meaning(body, kind)
    if uncertain:
        meaning = f"u_{meaning}" if f"u_{meaning}" in QUANTITY_OF else IGNORED
    way = next((way for way, words in WAYS.items() if re.search(words, body)), None)
    if kind == "readings" and way and meaning in ("angle_deg", UNKNOWN):
        meaning = f"{way}_deg"
    elif way and kind in ("target", "vacuum") and meaning.endswith("_deg"):
        meaning = UNKNOWN  # two bands cannot be kept; which one is wanted must be said
    if meaning not in QUANTITY_OF:
        return Heading(meaning)
    quantity = QUANTITY_OF[meaning]
    unit, problem = _unit(text, body, quantity)
    frame = _frame(body, quantity)
    sure = problem is None
    factor = r"[x×*÷/]\s*\d+\b|\b(?:hundreds?|thousands?|half|twice|double)\b"
    if quantity is SPEED and re.search(factor, body) and unit != "krpm":
        sure, problem = False, "unit-not-told"
    elif quantity is ANGLE and (
        re.search(_TURNED, body) or (re.search(_OTHER_WAY, body) and not re.search(_THIS_WAY, body))
    ):
        sure, problem = False, "other-way"
    elif meaning == "tolerance_deg" and re.search(_ONE_SIDE, body):
        sure, problem = False, "one-side"
    elif quantity is DEPRESSION and re.search(_PRESSURE, body) and not re.search(_VACUUM, body):
        sure, problem = False, "not-depression"
    return Heading(meaning, unit, frame, sure, problem)


def _meaning(body: str, kind: str) -> str:
    text = re.sub(r"[()\[\],;:]", " ", body)
    bare = re.sub(_SPEED_UNIT, " ", text)  # the "min" of rev/min is no minimum
    beside = f"{_STATIC_OUT}|{_STATIC_IN}|{_VACUUM_OFF}"  # neither of static nor of depression
    bare = re.sub(beside, " ", bare)
    for name, pattern in _RULES[kind]:
        if re.search(pattern, text if name == "speed_rpm" else bare):
            return name
    return UNKNOWN


def _unit(text: str, body: str, quantity: Quantity) -> tuple[str | None, str | None]:
    """The unit that a heading names, and what is wrong with it."""
    if "%" in body:
        return None, "unknown-unit"
    parted = re.sub(r"\s/\s", " ", plain_unit(body).lower())  # quantity / unit
    squeezed = re.sub(r"\s*([/.])\s*", r"\1", plain_unit(body).lower())
    names = sorted(
        ((name, unit.symbol) for unit in quantity.units for name in (unit.symbol, *unit.also)),
        key=lambda pair: -len(pair[0]),  # longest first: the "bar" of mbar is not bar
    )
    for name, symbol in names:
        if quantity is ANGLE and symbol == "′":
            continue  # the "min" of an angle is its least
        folded = re.escape(name.lower()).replace("\\ ", r"\s*")
        found = rf"(?<![a-z0-9µ/]){folded}(?![a-z0-9²/])"
        if re.search(found, squeezed) or re.search(found, parted):
            return symbol, None
    bracket = re.search(r"[\[(]\s*([^\])]*?)\s*[\])]", text)
    if bracket and bracket[1]:
        try:
            return quantity.unit(bracket[1]).symbol, None
        except BobweightError:
            if not _known_words(bracket[1].lower()):
                return None, "unknown-unit"
    if _OTHER_UNIT.search(body):
        return None, "unknown-unit"
    per = r"[a-z]/(?:in|ft|[mc]?m|[cm]m[2²]|s|sec|min|h|hr|hour|rad|deg|°)(?![a-z])"
    return None, "unknown-unit" if re.search(per, squeezed) else None


_OTHER_UNIT = re.compile(
    r"(?<![\w/])(?:inch|inches|{})(?![\w/²])".format("|".join(sorted({
        re.escape(name.lower())
        for quantity in QUANTITIES.values()
        for unit in quantity.units
        for name in (unit.symbol, *unit.also)
        if re.fullmatch(r"[a-zµ]{2,}", name.lower())
    } - {"in", "min", "mil", "us", "ma", "pond"})))
)  # fmt: skip
"""A unit in words, of whatever quantity, but those that may be a word."""


def _known_words(text: str) -> bool:
    """Whether what stands in brackets is no unit but a frame, a direction, a number and so on."""
    for pattern in (
        _STATIC_OUT, _STATIC_IN,
        *(words for _, words in _FRAMES), *WAYS.values(), _ANGLE, _SPEED, _LEAST, _MOST,
        _EARLY, _LATE, r"\b(?:negative|positive)\b",
        r"\b(mean|shown|read|run|measured|with|without|static|at|the|capsule|of|and|n|c/w|ccw|free)\b",
        r"[\d\s.,#&+\-=]",
    ):  # fmt: skip
        text = re.sub(pattern, "", text)
    return not text.strip()


def _frame(body: str, quantity: Quantity) -> str | None:
    if quantity is DEPRESSION:
        return None
    for frame, pattern in _FRAMES:
        if re.search(pattern, body):
            if quantity is SPEED:
                return "distributor" if frame == "distributor" else "crank"
            if frame != "crank":
                return frame
            return "crank" if re.search(_WITHOUT_STATIC, body) else CRANK_UNTOLD
    if re.search(r"\bcam(?:shaft)?\b|\bnockenwelle|\bnw\b|\bshaft\b", body):
        return "cam"
    return None


def names_something(text: str, kind: str) -> bool:
    """Whether a cell says anything that a heading says: a meaning, a unit, a frame, a way."""
    plain = text.replace("_", " ").lower()
    if heading_of(text, kind).meaning != UNKNOWN:
        return True
    patterns = [words for _, words in _FRAMES] + list(WAYS.values())
    return is_unit(text, kind) or any(re.search(pattern, plain) for pattern in patterns)


def frame_said(text: str) -> tuple[str | None, bool | None]:
    """What a line of words beside a table says of all its figures: whose they are (distributor,
    crank, or not told), and whether static is in them (or not told). The unit’s or the engine’s
    name is no word about figures."""
    plain = " ".join(text.lower().split())
    side = None
    for name, words in _SIDES.items():
        figures = rf"(?:{words})\w*\W+(?:shaft\W+)?{_FIGURES}|\bat (?:the )?(?:{words})"
        side = side or (name if re.search(figures, plain) else None)
    if re.search(_STATIC_OUT, plain):
        return side, False
    if re.search(_STATIC_IN, plain):
        return side, True
    if re.search(BEFORE, plain) and not re.search(r"\d", plain):
        return side or "crank", True
    return side, None


def title_way(text: str) -> str:
    """The direction that a title of rows names (``Rising``, ``Speed falling:``), else empty."""
    for way, words in WAYS.items():
        if re.fullmatch(rf"\W*(?:{_ABOUT}\W+)*(?:{words})(?:\W+{_ABOUT})*\W*", text, re.I):
            return way
    return ""


def is_unit(text: str, kind: str = "readings") -> bool:
    """Whether a cell is a unit and nothing else, though it may begin with a digit (1/min)."""
    for quantity in {QUANTITY_OF[m]: None for m in MEANINGS[kind] if m in QUANTITY_OF}:
        try:
            quantity.unit(text.strip("()[] "))
        except BobweightError:
            continue
        return bool(text.strip())
    return False
