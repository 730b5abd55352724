"""Words of the board: caption, what is missing, names and tips of the parts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import QCoreApplication

from bobweight.app.messages.lacking import is_blank, lacking
from bobweight.app.store.display import Display
from bobweight.app.words import with_unit
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import SPRING_ROLES
from bobweight.core.figure.numbers import figure as written
from bobweight.core.figure.numbers import typed
from bobweight.core.figure.plan import PosedPlan, PosedSpring
from bobweight.core.figure.view import View
from bobweight.core.judgement.outcome import Outcome
from bobweight.core.mechanics.predict import whole_rpm
from bobweight.core.problems import Path, required
from bobweight.core.record import is_assumed
from bobweight.core.units import FORCE, LENGTH, MASS, SPRING_RATE, Quantity, convert

translate = QCoreApplication.translate
MOST_SENTENCES = 4


def frame_word(frame: str) -> str:
    """The frame shown, as a word."""
    return {
        "distributor": translate("Board", "distributor"),
        "crank": translate("Board", "crank"),
        "crank-static": translate("Board", "crank with static"),
    }[frame]


def caption(outcome: Outcome, view: View, lacking: Sequence[str]) -> str:
    """Start, full speed and the target's ceiling in words, or what a curve lacks."""
    prediction = outcome.prediction
    words: list[str] = []
    if prediction is None:
        words += lacking
    else:
        text = {
            "distributor": translate(
                "Board",
                "Predicted, at the distributor: starts at {0} rev/min, full {1}° at {2} rev/min.",
            ),
            "crank": translate(
                "Board", "Predicted, at the crank: starts at {0} rev/min, full {1}° at {2} rev/min."
            ),
            "crank-static": translate(
                "Board",
                "Predicted, at the crank, static counted in: starts at {0} rev/min, full {1}° at "
                "{2} rev/min.",
            ),
        }[view.frame]
        words.append(
            text.format(
                view.speed(whole_rpm(prediction.start_rpm)),
                view.at(prediction.full_deg),
                view.speed(whole_rpm(prediction.full_rpm)),
            )
        )
    ceiling = outcome.comparison.ceiling
    if ceiling is not None:
        text = translate("Board", "Ceiling of the target {0}°.").format(
            view.at_typed(ceiling.high_deg)
        )
        words.append(text.replace(" ", "\u00a0"))  # one sentence, one line
    return " ".join(words)


def total_caption(docket: Docket) -> str:
    """What the contours of the total map are."""
    static = docket.setting_up.static_deg
    if static is None:
        return translate(
            "Board", "Total advance in crank degrees, static not entered and left out."
        )
    words = translate("Board", "Total advance in crank degrees, with {0}° static.")
    return words.format(typed(static))


def missing(
    outcome: Any, judged: Any, most: int = MOST_SENTENCES, doubted: Sequence[Path] | None = None
) -> list[str]:
    """Why there is no curve, a sentence each; none if there is a curve. No figure stands for a
    blank one where one that was typed is ``doubted``."""
    if judged.prediction is not None:
        return []
    if doubted is None and outcome.prediction is not None:
        doubted = ()
    found = lacking(outcome, doubted)
    lines = [each.in_brief for each in found[:most]]
    if doubted is not None or any(each.sign == "△" for each in found):
        return lines
    if len(found) > most:
        more = translate("Board", "And {0} more on the Mechanism page.")
        lines.append(more.format(len(found) - most))
    return [translate("Board", "No curve can be drawn yet."), *lines]


def no_plan(outcome: Any) -> str:
    """Why there is no plan view."""
    why = lacking(outcome)
    if why and outcome.docket.mechanism.springs:
        return translate("Board", "No plan view yet. {0}").format(why[0].text)
    return translate(
        "Board", "The plan view needs the measurements of weights, linkage, springs and stop."
    )


def no_capsule(outcome: Any) -> str:
    """Why there is no curve of the capsule."""
    problems = [p for p in outcome.problems if p.grave and p.path[:1] == ("capsules",)]
    if not all(is_blank(p) for p in problems):
        return translate("Board", "The figures contradict each other: see Vacuum.")
    return translate("Board", "The figures are not complete: see Vacuum.")


def spring_names(docket: Docket) -> list[str]:
    """A short name for each spring: its role, numbered where there are several of it."""
    springs = docket.mechanism.springs
    roles = [spring.role for spring in springs]
    names = []
    for index, role in enumerate(roles):
        name = translate("parameters", SPRING_ROLES[role]).lower()
        if roles.count(role) > 1:
            name = f"{name} {roles[: index + 1].count(role)}"
        names.append(name)
    return names


def session_name(docket: Docket, session: int) -> str:
    """What a session of readings is called."""
    title = docket.sessions[session].title.strip()
    return title or translate("Board", "session {0}").format(session + 1)


def speed_readout(speed: float, advance: float | None, frame: str) -> str:
    """The present speed and advance."""
    if advance is None:
        return translate("Board", "{0} rev/min {1}").format(written(speed, 0), frame_word(frame))
    words = translate("Board", "{0} rev/min, {1}° {2}")
    return words.format(written(speed, 0), written(advance), frame_word(frame))


class PartWords:
    """Names the parts of the plan view with their numbers, in the units shown."""

    def __init__(self, display: Display) -> None:
        self._display = display

    def labels(self, docket: Docket, posed: PosedPlan) -> tuple[str, ...]:
        """The words on the drawing: of the stop, of the present advance, of each spring."""
        view = self._display.view(docket)
        stop = translate("Board", "stop {0}°").format(view.at_typed(docket.mechanism.stop_deg))
        names = spring_names(docket)
        springs = [self._state(names[i], spring) for i, spring in enumerate(posed.springs)]
        return stop, f"{view.at(posed.cam_deg)}°", *springs

    def _state(self, name: str, spring: PosedSpring) -> str:
        if spring.engaged:
            return translate("Board", "{0}, taken up").format(name)
        if spring.slack_left_mm > 0.005:
            words = translate("Board", "{0}, slack {1}")
            return words.format(name, self._in(round(spring.slack_left_mm, 2)))
        return translate("Board", "{0}, slack").format(name)

    def describe(self, docket: Docket, posed: PosedPlan) -> list[tuple[str, int, tuple, str]]:
        """(kind, index, path, words) of every part, the topmost first."""
        parts: list[tuple[str, int, tuple, str]] = []
        names = spring_names(docket)
        ratio = docket.particulars.ratio_taken
        stop = required(docket.mechanism.stop_deg, "mechanism", "stop_deg")
        words = translate("Board", "Stop at {0}° distributor ({1}° crank). Drag to move it.")
        words = words.format(typed(stop), typed(stop * ratio))
        parts.append(("stop", -1, ("mechanism", "stop_deg"), words))
        for index, name in enumerate(names):
            spring = docket.mechanism.springs[index]
            words = translate("Board", "Post of the {0} spring, tang bent {1}. Drag to bend it.")
            bent = ("mechanism", "springs", index, "tang_mm")
            parts.append(("tang", index, bent, words.format(name, self._in(spring.tang_mm))))
        for index in range(len(names)):
            path = ("mechanism", "springs", index)
            parts.append(("spring", index, path, self._spring(docket, posed, index, names)))
        lobes = docket.particulars.lobes_taken
        if is_assumed(docket.particulars, "lobes"):
            words = translate("Board", "Cam, {0} lobes assumed, {1}° {2} ahead.")
        else:
            words = translate("Board", "Cam, {0} lobes, {1}° {2} ahead.")
        view = self._display.view(docket)
        words = words.format(lobes, view.at(posed.cam_deg), frame_word(view.frame))
        parts.append(("cam", -1, ("particulars", "lobes"), words))
        words = translate("Board", "Cam foot: how the weights turn the cam.")
        parts.append(("foot", -1, ("mechanism", "linkage"), words))
        parts += self._weights(docket, posed)
        return parts

    def _spring(self, docket: Docket, posed: PosedPlan, index: int, names: Sequence[str]) -> str:
        spring, here = docket.mechanism.springs[index], posed.springs[index]
        name = names[index][:1].upper() + names[index][1:]
        rate = self._in(required(spring.rate_n_per_mm), SPRING_RATE)
        if here.engaged:
            words = translate("Board", "{0} spring, {1}, taken up, pulls {2}.")
            return words.format(name, rate, self._in(here.force_n, FORCE))
        words = translate("Board", "{0} spring, {1}, slack: {2} to go.")
        return words.format(name, rate, self._in(here.slack_left_mm))

    def _weights(self, docket: Docket, posed: PosedPlan) -> list[tuple[str, int, tuple, str]]:
        weights = docket.mechanism.weights
        words = translate("Board", "Weight, {0}, centre of gravity {1} from its pivot.")
        mass, cg = weights.mass_g, weights.cg_mm
        said = words.format(
            self._in(mass, MASS) if mass is not None else "?", self._in(cg) if cg else "?"
        )
        path = ("mechanism", "weights")
        return [("weight", index, path, said) for index in range(len(posed.weights))]

    def _in(self, value: float, quantity: Quantity = LENGTH) -> str:
        symbol = self._display.unit(quantity)
        return with_unit(f"{convert(value, quantity, symbol):.3g}".replace("-", "−"), symbol)
