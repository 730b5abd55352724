"""What the plan view says as a form: the figure on each line, its tip, and what is wrong where."""

from __future__ import annotations

from collections.abc import Iterator

from PySide6.QtCore import QCoreApplication

from bobweight.app.board.plan_form import MIRROR, DrawingFault, FormLines
from bobweight.app.messages import place_text, sentence
from bobweight.app.messages.lacking import is_blank
from bobweight.app.store.display import Display
from bobweight.app.words import label, with_unit, written
from bobweight.core.figure.numbers import typed
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.mechanics.dimensions import Dimension, dimensions
from bobweight.core.mechanics.pose import Pose, pose
from bobweight.core.mechanics.remount import turned_back
from bobweight.core.mechanics.typical import Completed
from bobweight.core.record import parameter_at

translate = QCoreApplication.translate
_OF_WEIGHTS = ("weights", "linkage")


def form_lines(outcome: Outcome, made: Completed, display: Display) -> FormLines:
    """The dimensions of an outcome's mechanism and its faults, with words."""
    found = dimensions(made)
    words, tips = [], []
    for one in found:
        name = label(parameter_at(made.mechanism, one.path))
        place = place_text(("mechanism", *one.path), outcome.docket)
        if one.value is None:
            words.append(f"{name[:1].lower()}{name[1:]}")
            tips.append(translate("Board", "{0}: not known yet. Click to enter it.").format(place))
        else:
            value = _value(made, one, display)
            words.append(value)
            tips.append(translate("Board", "{0}: {1}").format(place, value))
    stop, place = made.mechanism.stop_deg or 0.0, place_text(("mechanism", "stop_deg"))
    if ("stop_deg",) in made.blanks:
        stop_words = translate("Board", "stop")
        stop_tip = translate("Board", "{0}: not known yet. Click to enter it.").format(place)
    else:
        told = typed(stop)
        stop_words = translate("Board", "stop {0}°").format(told)
        stop_tip = f"{place}: {told}°"
    pin = ("plate", "stop_radius_mm")
    springs = {
        index
        for index in range(len(made.mechanism.springs))
        if any(path[:2] == ("springs", index) and _places(path) for path in made.blanks)
    }
    return FormLines(
        dimensions=found,
        words=tuple(words),
        tips=tuple(tips),
        stop=(stop_words, stop_tip),
        pin=(translate("Board", "stop pin"), place_text(("mechanism", *pin)))
        if made.mechanism.plate.stop_is_placed
        else ("", ""),
        faults=tuple(_faults(outcome, pose(made.mechanism, 0.0))),
        blank_weights=any(path[0] in _OF_WEIGHTS and _places(path) for path in made.blanks),
        blank_springs=frozenset(springs),
        draft=outcome.prediction is None,
    )


def _places(path: tuple) -> bool:
    return str(path[-1]).endswith(("_mm", "_deg")) and path[-1] != "free_length_mm"


def _value(made: Completed, one: Dimension, display: Display) -> str:
    quantity = parameter_at(made.mechanism, one.path).quantity
    symbol = display.unit(quantity)
    said = with_unit(written(one.value, quantity, symbol), symbol)
    return f"{said} ▲" if one.path in made.clipped else said


def _first(text: str) -> str:
    """The first sentence, without its stop."""
    return text.split(". ")[0].rstrip(".")


def _faults(outcome: Outcome, drawn: Pose) -> Iterator[DrawingFault]:
    for problem in outcome.problems_at("mechanism"):
        path = problem.path[1:]
        if is_blank(problem) or not path:
            continue
        row = path[1] if path[0] == "springs" and len(path) > 1 else None
        if isinstance(row, int) and row < len(drawn.springs):
            (post_x, post_y), (peg_x, peg_y) = drawn.springs[row].post_xy, drawn.springs[row].peg_xy
            at = 0.5 * (post_x + peg_x), 0.5 * (post_y + peg_y)
            if problem.code == "spring-pulls-forward":
                if turned_back(outcome.docket.mechanism, row) is None:
                    yield DrawingFault(path, translate("Board", "▲ pulls the cam forward"), at)
                    continue
                words = translate("Board", "▲ pulls the cam forward: mirror it")
                yield DrawingFault(path, words, at, MIRROR)
            elif problem.code == "distances-no-triangle":
                yield DrawingFault(path, translate("Board", "▲ these distances do not meet"), at)
            elif problem.code == "stop-distance-off":
                words = translate("Board", "▲ not the length measured at the stop")
                yield DrawingFault(path, words, at)
            elif problem.grave:
                yield DrawingFault(path, f"▲ {_first(sentence(problem, outcome.docket))}", at)
        elif problem.grave and drawn.weights:
            words = f"▲ {_first(sentence(problem, outcome.docket))}"
            yield DrawingFault(path, words, drawn.weights[-1].cg_xy)
