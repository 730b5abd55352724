"""The words of figures, by the codes of :class:`core.figure.description.Word`; and how words with
facts are made into text. Source text for translation, context ``sheet``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

from bobweight.app.messages.explanations import explanation_title, lower_first, sensitivity_name
from bobweight.app.words import PARAMETERS, QT_TRANSLATE_NOOP, translate
from bobweight.core.figure.description import Content, Word

if TYPE_CHECKING:
    from bobweight.core.docket.docket import Docket
    from bobweight.core.judgement.alter import Sensitivity

FIGURE_WORDS: dict[str, str] = {
    "speed-axis-distributor": QT_TRANSLATE_NOOP("sheet", "Distributor speed, rev/min"),
    "speed-axis-crank": QT_TRANSLATE_NOOP("sheet", "Engine speed, rev/min"),
    "speed-axis-crank-static": QT_TRANSLATE_NOOP("sheet", "Engine speed, rev/min"),
    "advance-axis-distributor": QT_TRANSLATE_NOOP("sheet", "Advance, distributor °"),
    "advance-axis-crank": QT_TRANSLATE_NOOP("sheet", "Advance, crank °"),
    "advance-axis-crank-static": QT_TRANSLATE_NOOP("sheet", "Advance with static °"),
    "movement-axis-distributor": QT_TRANSLATE_NOOP("sheet", "Advance, distributor °"),
    "movement-axis-crank": QT_TRANSLATE_NOOP("sheet", "Advance, crank °"),
    "deviation-axis": QT_TRANSLATE_NOOP("sheet", "Deviation, °"),
    "depression-axis": QT_TRANSLATE_NOOP("sheet", "Depression, {unit}"),
    "predicted": QT_TRANSLATE_NOOP("sheet", "predicted"),
    "predicted-rising": QT_TRANSLATE_NOOP("sheet", "predicted, rising"),
    "predicted-falling": QT_TRANSLATE_NOOP("sheet", "predicted, falling"),
    "doubted": QT_TRANSLATE_NOOP("sheet", "by figures of which one is wrong"),
    "held-before": QT_TRANSLATE_NOOP("sheet", "before"),
    "band": QT_TRANSLATE_NOOP("sheet", "required band"),
    "ceiling-at": QT_TRANSLATE_NOOP("sheet", "ceiling {advance}°"),
    "no-advance-below": QT_TRANSLATE_NOOP("sheet", "no advance below {speed} rev/min"),
    "takes-up": QT_TRANSLATE_NOOP("sheet", "{spring} takes up, {advance}°"),
    "takes-up-plateau": QT_TRANSLATE_NOOP(
        "sheet", "{spring} takes up: stands at {advance}° from {low} to {high} rev/min"
    ),
    "plateau": QT_TRANSLATE_NOOP("sheet", "stands at {advance}° from {low} to {high} rev/min"),
    "jump-rising": QT_TRANSLATE_NOOP("sheet", "jumps from {low}° to {high}° rising"),
    "jump-falling": QT_TRANSLATE_NOOP("sheet", "drops from {low}° to {high}° falling"),
    "torque-axis": QT_TRANSLATE_NOOP("sheet", "Torque at the cam, N·mm"),
    "held-torque": QT_TRANSLATE_NOOP("sheet", "springs and drag, friction about them"),
    "at-speed": QT_TRANSLATE_NOOP("sheet", "{speed} rev/min"),
    "role-primary": QT_TRANSLATE_NOOP("sheet", "primary"),
    "role-secondary": QT_TRANSLATE_NOOP("sheet", "secondary"),
    "role-further": QT_TRANSLATE_NOOP("sheet", "further spring"),
    "stop-here": QT_TRANSLATE_NOOP("sheet", "stop"),
    "ratio-axis": QT_TRANSLATE_NOOP("sheet", "Torque now ÷ torque by the table"),
    "as-the-table": QT_TRANSLATE_NOOP("sheet", "as the table"),
    "of-the-figures": QT_TRANSLATE_NOOP("sheet", "by the figures"),
    "length-axis": QT_TRANSLATE_NOOP("sheet", "Length between hooks, {unit}"),
    "force-axis": QT_TRANSLATE_NOOP("sheet", "Force, {unit}"),
    "hang-rate": QT_TRANSLATE_NOOP("sheet", "{rate} {force}/{length}"),
    "hang-start": QT_TRANSLATE_NOOP(
        "sheet", "opens at {length} {length_unit}, {tension} {force_unit}"
    ),
    "pass-axis": QT_TRANSLATE_NOOP("sheet", "Units that pass, of 100"),
    "pass-all": QT_TRANSLATE_NOOP("sheet", "everywhere {rate}"),
    "pass-at": QT_TRANSLATE_NOOP("sheet", "{rate}"),
    "as-found": QT_TRANSLATE_NOOP("sheet", "as found, with its 95 % band"),
    "effect-axis-distributor": QT_TRANSLATE_NOOP("sheet", "Moves the curve by, distributor °"),
    "effect-axis-crank": QT_TRANSLATE_NOOP("sheet", "Moves the curve by, crank °"),
    "state-total": QT_TRANSLATE_NOOP("sheet", "{name}, {total}°"),
    "posed-total": QT_TRANSLATE_NOOP("sheet", "as posed, pipe off, {total}°"),
    "numbered": QT_TRANSLATE_NOOP("sheet", "{name} {number}"),
    "expected-with-band": QT_TRANSLATE_NOOP(
        "sheet", "expected before it is read, with its 95 % band"
    ),
    "fitted-with-band": QT_TRANSLATE_NOOP("sheet", "fitted to the readings, with its 95 % band"),
    "after-altering": QT_TRANSLATE_NOOP("sheet", "after the alteration"),
    "next-rising": QT_TRANSLATE_NOOP("sheet", "next reading, rising"),
    "next-falling": QT_TRANSLATE_NOOP("sheet", "next reading, falling"),
    "falling-too": QT_TRANSLATE_NOOP("sheet", "as many, falling"),
    "if-so": QT_TRANSLATE_NOOP("sheet", "if {explanation}"),
    "looks-mistaken": QT_TRANSLATE_NOOP("sheet", "looks like a misreading"),
    "point-below": QT_TRANSLATE_NOOP("sheet", "< {speed}"),
    "point-ceiling": QT_TRANSLATE_NOOP("sheet", "ceiling"),
    "branch-rising": QT_TRANSLATE_NOOP("sheet", "▲\u00a0{value}"),  # as readings are marked
    "branch-falling": QT_TRANSLATE_NOOP("sheet", "▼\u00a0{value}"),
    "branch-rising-key": QT_TRANSLATE_NOOP("sheet", "▲ rising"),
    "branch-falling-key": QT_TRANSLATE_NOOP("sheet", "▼ falling"),
    "spelt-rising": QT_TRANSLATE_NOOP("sheet", "rising {value}"),
    "spelt-falling": QT_TRANSLATE_NOOP("sheet", "falling {value}"),
    "verdict-inside": QT_TRANSLATE_NOOP("sheet", "inside"),
    "verdict-outside": QT_TRANSLATE_NOOP("sheet", "outside"),
    "verdict-looks-inside": QT_TRANSLATE_NOOP("sheet", "looks in"),
    "verdict-looks-outside": QT_TRANSLATE_NOOP("sheet", "looks out"),
    "verdict-cannot-be-told": QT_TRANSLATE_NOOP("sheet", "can’t tell"),
    "verdict-cannot-tell": QT_TRANSLATE_NOOP("sheet", "can’t tell"),
    "verdict-not-read": QT_TRANSLATE_NOOP("sheet", "not read"),
    "verdict-being-judged": QT_TRANSLATE_NOOP("sheet", "judging"),
    "range": QT_TRANSLATE_NOOP("sheet", "{low} to {high}"),
    "at-most": QT_TRANSLATE_NOOP("sheet", "at most {value}"),
    "at-least": QT_TRANSLATE_NOOP("sheet", "at least {value}"),
}


class Fact(str):
    """A text put into another: ``{name:within}`` writes it as it stands within a sentence."""

    def __format__(self, spec: str) -> str:
        return lower_first(self) if spec == "within" else str.__format__(self, spec)


def said(content: Content, words: Mapping[str, str] = FIGURE_WORDS) -> str:
    """The text of a string or word, in the language of the window.

    Raises
    ------
    KeyError
        If the core uses a code that is not in the table (a fault of the program).
    """
    if not isinstance(content, Word):
        return content
    facts = {
        key: said(fact, words) if isinstance(fact, Word) else fact
        for key, fact in content.facts.items()
    }
    if content.code == "label":
        return translate(PARAMETERS, str(facts["text"]))
    if content.code == "sensitivity":
        return sensitivity_name(
            cast("Sensitivity", content.facts["row"]), cast("Docket", content.facts["docket"])
        )
    if content.code == "explanation":
        return lower_first(explanation_title(str(facts["name"])))
    if content.code.startswith("read-with-"):
        parts = [str(facts[key]) for key in ("title", "date") if facts[key]]
        facts["session"] = ", ".join(parts) + ": " if parts else ""
    of_one = words.get(f"{content.code}-one") if str(facts.get("count")) == "1" else None
    told = {key: Fact(fact) if isinstance(fact, str) else fact for key, fact in facts.items()}
    return translate("sheet", of_one or words[content.code]).format(**told)
