"""From what was clicked to the figures of the mechanism, each with its uncertainty.

Places are turned into the base plate's frame: the shaft at the origin, the first weight's pivot on
the x axis, advance anticlockwise (a unit that turns clockwise is mirrored). Every figure is one
function of all places, so that its uncertainty, and what figures share, follow from their
covariance by differences. A weight's centre is that of its outline as it is drawn through the
places clicked; how it runs between them is known the less, the more it hangs on single ones of
them.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from bobweight.core.arrays import Floats
from bobweight.core.docket.docket import Docket
from bobweight.core.docket.mechanism import Mechanism, OutlinePoint, Spring
from bobweight.core.docket.pictures import USUAL_LEVELS, MeasuredPicture
from bobweight.core.frozen import frozen
from bobweight.core.mechanics.moved import Proof, proof
from bobweight.core.photo.outlined import LEAST, drawn_centre, u_between
from bobweight.core.photo.view import PicksPlaced, placed
from bobweight.core.problems import BobweightError, Path, Problem
from bobweight.core.record import is_assumed

Figures = dict[Path, float]
_EVEN_RAD = 0.1
"""Pivots that stand further than this from evenly spaced were clicked in another order."""
_STEP_MM, _STEP_RUN = 1e-4, 0.1
_DIFFER = 3.0
"""Standard uncertainties by which two weights must differ before it is said."""


@frozen
class Ask:
    """One thing to click: ``part`` of :data:`core.docket.pictures.PARTS`, of which weight or
    spring, at least how many points, and whether the figures can do without."""

    part: str
    number: int
    least: int = 1
    optional: bool = False


_CIRCLE = Ask("circle", 1, least=3, optional=True)
"""In place of a shaft whose middle cannot be seen."""


@frozen(eq=False)
class MeasuredOff:
    """The figures measured off a picture.

    Attributes
    ----------
    values, u : mapping of path to float
        In the docket's units, by the path in the docket; standard uncertainties.
    covariance : array, shape (n, n)
        Of the values, in their order.
    outline : tuple of OutlinePoint
        Of the first weight, in its own frame; empty where none was traced.
    lies : str
        ``behind`` or ``ahead``; empty where no outline tells.
    problems : tuple of Problem
        What could not be measured, or contradicts itself; none is grave.
    """

    values: Mapping[Path, float]
    u: Mapping[Path, float]
    covariance: NDArray[np.float64]
    outline: tuple[OutlinePoint, ...] = ()
    lies: str = ""
    problems: tuple[Problem, ...] = field(default=())


def asked(mechanism: Mechanism, shows: str = "rest") -> list[Ask]:
    """What to click in a picture of this mechanism, in the order of the hand."""
    weights = range(1, mechanism.weights.count_taken + 1)
    if shows == "out":
        return [
            Ask("shaft", 1), _CIRCLE, *(Ask("pivot", k, optional=k > 1) for k in weights),
            Ask("cam_mark", 1), Ask("weight_mark", 1),
        ]  # fmt: skip
    asks = [Ask("shaft", 1), _CIRCLE, Ask("rim", 1, least=3, optional=True)]
    hung = {
        _weight_of(spring, body, mechanism.weights.count_taken)
        for spring in mechanism.springs
        if spring.hangs_on_weight
        for body in ("weight", spring.post_on, spring.peg_on)
    }  # such a spring is told in its own weight's frame, and an end on a weight from its pivot
    asks += [Ask("pivot", k, optional=k > 1 and k not in hung) for k in weights]
    asks.append(Ask("outline", 1, least=LEAST))
    if mechanism.linkage.kind in ("slot", "link"):
        asks += [Ask("pin", k, optional=k > 1) for k in weights]
    if mechanism.linkage.kind == "link":
        asks += [Ask("foot_pin", k, optional=k > 1) for k in weights]
    for k in range(1, len(mechanism.springs) + 1):
        asks += [Ask("post", k), Ask("peg", k)]
    asks += [Ask("stop", 1, optional=True)]
    return [*asks, Ask("cam_mark", 1, optional=True), Ask("weight_mark", 1, optional=True)]


def _weight_of(spring: Spring, body: str, count: int) -> int | None:
    """Which weight an end of a spring is on, counted from 1; None on plate or cam foot."""
    if body not in ("weight", "other"):
        return None
    own = (spring.weight - 1) % count + 1
    return own if body == "weight" else own % count + 1


def measure(docket: Docket, picture: MeasuredPicture) -> MeasuredOff:
    """The figures of the mechanism that a picture with the weights in gives.

    Raises
    ------
    BobweightError
        ``not-clicked`` for the shaft or the first pivot; those of :func:`core.photo.view.placed`.
    """
    places = placed(picture)
    reading = _Reading(docket, picture, places)
    values, u, covariance = _with_spread(places, reading.figures)
    problems = [*_heights_blank(picture), *reading.problems, *_differences(reading, places)]
    return MeasuredOff(values, u, covariance, reading.outline(), reading.lies, tuple(problems))


@frozen
class Moved:
    """How far cam and weight moved between two pictures, degrees with standard uncertainties.

    ``clockwise`` tells which way the cam went as the picture shows it: the way the unit turns.
    """

    cam_deg: float
    u_cam_deg: float
    swing_deg: float
    u_swing_deg: float
    clockwise: bool


def moved_between(rest: MeasuredPicture, out: MeasuredPicture) -> Moved:
    """Cam angle and swing of the weight from a picture at rest and one with the weights out.

    Both must hold the shaft, the first pivot, and the same points of cam foot and weight; a second
    pivot, where both hold it, steadies the plate.

    Raises
    ------
    BobweightError
        ``not-clicked`` with the part; those of :func:`core.photo.view.placed`.
    """
    steadied = all(
        any(pick.part == "pivot" and pick.number == 2 for pick in picture.picks)
        for picture in (rest, out)
    )
    (a, u_a), (b, u_b) = (_standing(picture, steadied) for picture in (rest, out))
    turned = [math.remainder(b[k] - a[k], 360.0) for k in (_CAM, _SWING)]
    u = [math.hypot(u_a[k], u_b[k]) for k in (_CAM, _SWING)]
    return Moved(abs(turned[0]), u[0], abs(turned[1]), u[1], clockwise=turned[0] < 0)


def against_linkage(mechanism: Mechanism, moved: Moved) -> Proof | None:
    """The linkage by its own figures against what two pictures show, as
    :func:`core.mechanics.moved.proof`."""
    return proof(mechanism, moved.cam_deg, moved.u_cam_deg, moved.swing_deg, moved.u_swing_deg)


_CAM, _SWING = ("cam_deg",), ("swing_deg",)


def _standing(picture: MeasuredPicture, steadied: bool) -> tuple[Figures, Figures]:
    """Where cam and weight stand against the plate in one picture, and standard uncertainties."""
    places = placed(picture)

    def turns(xy: Floats, _run: complex = 0j) -> Figures:
        at = _points(picture, places, xy)
        shaft, pivot = at("shaft", 1), at("pivot", 1)
        along = pivot - (at("pivot", 2) if steadied else shaft)
        return {
            _CAM: _degrees((at("cam_mark", 1) - shaft) / along),
            _SWING: _degrees((at("weight_mark", 1) - pivot) / along),
        }

    values, u, _ = _with_spread(places, turns)
    return values, u


class _points:
    """A pick's place as a complex number of mm, y up; a circle's middle where several were
    clicked."""

    def __init__(self, picture: MeasuredPicture, places: PicksPlaced, xy: Floats) -> None:
        self._where = {
            (pick.part, pick.number): xy[rows]
            for pick, rows in zip(picture.picks, places.rows, strict=True)
            if len(rows)
        }

    def __call__(self, part: str, number: int) -> complex:
        found = self.maybe(part, number)
        if found is None:
            raise BobweightError("not-clicked", (part, number), part=part, number=number)
        return found

    def maybe(self, part: str, number: int) -> complex | None:
        points = self._where.get((part, number))
        if points is None and part == "shaft":
            points = self._where.get((_CIRCLE.part, number))
            if points is not None and len(points) < _CIRCLE.least:
                return None
        if points is None:
            return None
        if len(points) < 3:
            return complex(*points.mean(axis=0))
        return circle(points)[0]

    def many(self, part: str, number: int) -> NDArray[np.complex128] | None:
        points = self._where.get((part, number))
        return None if points is None else points[:, 0] + 1j * points[:, 1]

    def numbers(self, part: str) -> list[int]:
        return sorted(n for p, n in self._where if p == part)


def circle(points: Floats) -> tuple[complex, float]:
    """Middle and radius of the circle through three or more points, shape (n, 2), by linear least
    squares (Kåsa, IEEE Trans. Instrum. Meas. 25 (1976) 8)."""
    middle = points.mean(axis=0)
    own = points - middle
    rows = np.column_stack([2 * own, np.ones(len(own))])
    (x, y, rest), *_ = np.linalg.lstsq(rows, np.sum(own**2, axis=1), rcond=None)
    return complex(x + middle[0], y + middle[1]), float(np.sqrt(max(rest + x * x + y * y, 0.0)))


class _Reading:
    """One picture's picks as figures."""

    def __init__(self, docket: Docket, picture: MeasuredPicture, places: PicksPlaced) -> None:
        self.mechanism = docket.mechanism
        self.picture, self.places = picture, places
        self.mirror = docket.particulars.turns_clockwise
        self.problems: list[Problem] = []
        if is_assumed(docket.particulars, "rotation"):
            place = ("particulars", "rotation")
            self.problems.append(Problem("rotation-assumed", place, grave=False))
        at = _points(picture, places, places.places.xy_mm)
        self.weights = [k for k in at.numbers("pivot") if k <= self.mechanism.weights.count_taken]
        if 1 not in self.weights:
            raise BobweightError("not-clicked", ("pivot", 1), part="pivot", number=1)
        self.lies = ""
        self.even = evenly_spaced(self.mechanism)
        frame = self.frame(at)
        centre = frame.centre(1)
        if centre is not None:
            pivot = frame.point("pivot", 1)
            self.lies = "behind" if ((centre - pivot) / pivot).imag < 0 else "ahead"
        elif self.mechanism.weights.rest_angle_deg is None:
            self.problems.append(Problem("no-outline", ("outline", 1), grave=False))

    def frame(self, at: _points, run: complex = 0j) -> _Frame:
        """The base plate's frame by these places."""
        return _Frame(at, self.mirror, self.even, run)

    def figures(self, xy: Floats, run: complex = 0j) -> Figures:
        """All figures from places in mm, shape (n, 2), and a ``run`` of outlines between them."""
        frame = self.frame(_points(self.picture, self.places, xy), run)
        found: Figures = {}
        per_weight = [self._of_weight(frame, k) for k in self.weights]
        for path in {path: None for figures in per_weight for path in figures}:
            values = [figures[path] for figures in per_weight if path in figures]
            found[path] = float(np.mean(values))
        for index, spring in enumerate(self.mechanism.springs):
            found |= self._of_spring(frame, index, spring)
        rim = frame.at.many("rim", 1)
        if rim is not None and len(rim) >= 3:
            found["mechanism", "plate", "radius_mm"] = circle(
                np.column_stack([rim.real, rim.imag])
            )[1]
        stop = frame.maybe("stop", 1)
        if stop is not None:
            found["mechanism", "plate", "stop_radius_mm"] = abs(stop)
            found["mechanism", "plate", "stop_angle_deg"] = _degrees(stop)
        return found

    def _of_weight(self, frame: _Frame, number: int) -> Figures:
        weights = ("mechanism", "weights")
        linkage = ("mechanism", "linkage")
        own = frame.own(number, self._ahead)
        pivot = own("pivot", number)
        assert pivot is not None
        found: Figures = {(*weights, "pivot_radius_mm"): abs(pivot)}
        centre = own.centre(number)
        if centre is not None:
            found[*weights, "cg_mm"] = abs(centre - pivot)
            found[*weights, "rest_angle_deg"] = abs(_degrees(centre - pivot))
        line = self._line(own, number)
        pin = own("pin", number)
        if pin is not None:
            found[*linkage, "pin_radius_mm"] = abs(pin - pivot)
            if line is not None:
                found[*linkage, "pin_angle_deg"] = _degrees((pin - pivot) / line)
        foot = own("foot_pin", number)
        if foot is not None:
            found[*linkage, "foot_radius_mm"] = abs(foot)
            if pin is not None:
                found[*linkage, "link_mm"] = abs(foot - pin)
        return found

    @property
    def _ahead(self) -> bool:
        lies = self.lies or self.mechanism.linkage.lies
        return lies == "ahead"

    def _line(self, own: _Own, number: int) -> complex | None:
        """The line from a weight's pivot to its centre of gravity, of length one."""
        pivot = own("pivot", number)
        centre = own.centre(number)
        if centre is None:
            centre = own.centre(1, of=number)
        if centre is not None and pivot is not None:
            return (centre - pivot) / abs(centre - pivot)
        rest = self.mechanism.weights.rest_angle_deg
        return None if rest is None else cmath.rect(1.0, math.radians(rest))

    def _of_spring(self, frame: _Frame, index: int, spring: Spring) -> Figures:
        count = self.mechanism.weights.count_taken
        number = index + 1
        of_weight = {"weight", "other"} & {spring.post_on, spring.peg_on}
        found: Figures = {}
        for part, body in (("post", spring.post_on), ("peg", spring.peg_on)):
            weight = _weight_of(spring, body, count)
            if weight is not None:
                own = frame.own(weight, self._ahead)
                pivot, line, end = own("pivot", weight), self._line(own, weight), own(part, number)
                if pivot is None or end is None:
                    continue
                found["mechanism", "springs", index, f"{part}_radius_mm"] = abs(end - pivot)
                if line is not None:
                    angle = _degrees((end - pivot) / line)
                    found["mechanism", "springs", index, f"{part}_angle_deg"] = angle
                continue
            own = frame.own((spring.weight - 1) % count + 1, self._ahead)
            end = own(part, number) if of_weight else frame.maybe(part, number)
            if end is not None:
                found["mechanism", "springs", index, f"{part}_radius_mm"] = abs(end)
                found["mechanism", "springs", index, f"{part}_angle_deg"] = _degrees(end)
        return found

    def outline(self) -> tuple[OutlinePoint, ...]:
        """The first weight as traced, at its pivot, x towards its centre of gravity."""
        at = _points(self.picture, self.places, self.places.places.xy_mm)
        own = self.frame(at).own(1, self._ahead)
        points, line = own.many("outline", 1), self._line(own, 1)
        pivot = own("pivot", 1)
        if points is None or line is None or pivot is None:
            return ()
        return tuple(
            OutlinePoint(x_mm=float(p.real), y_mm=float(p.imag)) for p in (points - pivot) / line
        )


def plate_frame(docket: Docket, picture: MeasuredPicture, places: PicksPlaced) -> _Frame:
    """The base plate's frame in the picture's mm; ``back`` takes a place of it there.

    Raises
    ------
    BobweightError
        ``not-clicked`` for the shaft or the first pivot.
    """
    at = _points(picture, places, places.places.xy_mm)
    mirror = docket.particulars.turns_clockwise
    return _Frame(at, mirror, evenly_spaced(docket.mechanism))


def evenly_spaced(mechanism: Mechanism) -> int:
    """How many weights stand evenly round the shaft; 1 where their places are their own."""
    weights = mechanism.weights
    return 1 if any(own.place_deg is not None for own in weights.each) else weights.count_taken


class _Frame:
    """The base plate's frame: shaft at the origin, first pivot on the x axis, advance
    anticlockwise.

    Where ``even`` weights stand evenly round the shaft, all their pivots say where the x axis is: a
    line from pivot to pivot is twice as long as one from the shaft.
    """

    def __init__(self, at: _points, mirror: bool, even: int, run: complex = 0j) -> None:
        self.at, self._mirror, self._run = at, mirror, run
        self._centres: dict[int, complex | None] = {}
        self._shaft = at("shaft", 1)
        arm = self._seen(at("pivot", 1))
        if abs(arm) < 1e-6:
            raise BobweightError("same-point")
        pivots = [at.maybe("pivot", number + 1) for number in range(even)]
        arms = [
            self._seen(pivot) * cmath.rect(1.0, -2.0 * math.pi * number / even)
            for number, pivot in enumerate(pivots)
            if pivot is not None
        ]
        agree = all(abs(cmath.phase(other / arm)) < _EVEN_RAD for other in arms if other)
        whole = sum(arms) if agree and len(arms) == even else arm
        self._zero = whole / abs(whole)

        self._even = even if agree and len(arms) == even else 0

    def zero_of(self, weight: int, pivot: complex) -> complex:
        """The direction of a weight's pivot from the shaft in this frame, of length one."""
        if self._even:
            return cmath.rect(1.0, 2.0 * math.pi * (weight - 1) / self._even)
        return pivot / abs(pivot)

    def _seen(self, place: complex) -> complex:
        own = place - self._shaft
        return own.conjugate() if self._mirror else own

    def turn(self, place: complex) -> complex:
        return self._seen(place) / self._zero

    def back(self, place: complex) -> complex:
        """A place of this frame as the picture shows it, in mm."""
        seen = place * self._zero
        return self._shaft + (seen.conjugate() if self._mirror else seen)

    def maybe(self, part: str, number: int) -> complex | None:
        place = self.at.maybe(part, number)
        return None if place is None else self.turn(place)

    def point(self, part: str, number: int) -> complex:
        return self.turn(self.at(part, number))

    def centre(self, number: int) -> complex | None:
        """Centroid of a weight's outline, in this frame."""
        if number not in self._centres:
            self._centres[number] = self._centre(number)
        return self._centres[number]

    def _centre(self, number: int) -> complex | None:
        points = self.at.many("outline", number)
        if points is None or len(points) < 3:
            return None
        run = self._run * u_between(points) if self._run else 0j
        return self.turn(drawn_centre(points) + run)

    def own(self, weight: int, ahead: bool) -> _Own:
        return _Own(self, weight, ahead)


class _Own:
    """A weight's own frame: x from the shaft through its pivot, y to its centre of gravity."""

    def __init__(self, frame: _Frame, weight: int, ahead: bool) -> None:
        self._frame, self._ahead = frame, ahead
        pivot = frame.maybe("pivot", weight)
        self._zero = frame.zero_of(weight, pivot) if pivot else None

    def _turned(self, place: complex | None) -> complex | None:
        if place is None or self._zero is None:
            return None
        own = place / self._zero
        return own if self._ahead else own.conjugate()

    def __call__(self, part: str, number: int) -> complex | None:
        return self._turned(self._frame.maybe(part, number))

    def centre(self, number: int, of: int | None = None) -> complex | None:
        """Centroid of a weight's outline here; ``of`` another weight, taken to be like it."""
        if of is not None and of != number:
            there = self._frame.own(number, self._ahead)
            here, pivot, like = there.centre(number), there("pivot", number), self("pivot", of)
            if here is None or pivot is None or like is None:
                return None
            return like + (here - pivot)
        return self._turned(self._frame.centre(number))

    def many(self, part: str, number: int) -> NDArray[np.complex128] | None:
        points = self._frame.at.many(part, number)
        if points is None or self._zero is None:
            return None
        return np.array([self._turned(self._frame.turn(complex(p))) for p in points])


def _degrees(of: complex) -> float:
    return math.degrees(cmath.phase(of))


def _with_spread(
    places: PicksPlaced, figures: Callable[[Floats, complex], Figures]
) -> tuple[Figures, Figures, NDArray[np.float64]]:
    """Figures, their standard uncertainties, and their covariance.

    ``figures`` are asked at places and at a run of outlines: how far a weight's centre lies from
    that of its drawn outline, in standard uncertainties (a complex number: which way).
    """
    xy = places.places.xy_mm
    values = figures(xy, 0j)
    paths = list(values)

    def slope(ahead: Figures, back: Figures, step: float) -> list[float]:
        return [
            (math.remainder(ahead[p] - back[p], 360.0) if str(p[-1]).endswith("_deg")
             else ahead[p] - back[p]) / (2 * step)
            for p in paths
        ]  # fmt: skip

    slopes = np.zeros((len(paths), xy.size))
    for k in range(xy.size):
        shift = np.zeros(xy.size)
        shift[k] = _STEP_MM
        ahead, back = (figures(xy + sign * shift.reshape(xy.shape), 0j) for sign in (1, -1))
        slopes[:, k] = slope(ahead, back, _STEP_MM)
    covariance = slopes @ places.places.covariance_mm2 @ slopes.T
    for way in (1.0, 1j):
        ahead, back = (figures(xy, sign * _STEP_RUN * way) for sign in (1, -1))
        run = np.array(slope(ahead, back, _STEP_RUN))
        covariance += np.outer(run, run)
    spread = np.sqrt(np.clip(np.diag(covariance), 0.0, None))
    return values, dict(zip(paths, map(float, spread), strict=True)), covariance


def _heights_blank(picture: MeasuredPicture) -> Sequence[Problem]:
    """Which heights above the card are guessed, of those at which anything was clicked."""
    used = {pick.level for pick in picture.picks}
    blank = [
        level.label or str(number)
        for number, level in enumerate(picture.levels or USUAL_LEVELS, 1)
        if level.height_mm is None and number in used
    ]
    if not blank:
        return ()
    return [Problem("heights-blank", ("levels",), {"levels": ", ".join(blank)}, grave=False)]


def _differences(reading: _Reading, places: PicksPlaced) -> Sequence[Problem]:
    """Weights that are not alike, in what was clicked on each."""
    if len(reading.weights) < 2:
        return ()

    def apart(xy: Floats, run: complex) -> Figures:
        frame = reading.frame(_points(reading.picture, reading.places, xy), run)
        first = reading._of_weight(frame, reading.weights[0])
        found = {}
        for number in reading.weights[1:]:
            for path, value in reading._of_weight(frame, number).items():
                if path in first:
                    found[number, *path] = value - first[path]
        return found

    values, u, _ = _with_spread(places, apart)
    return [
        Problem(
            "weights-differ", ("mechanism", "weights", str(path[-1])),
            {"weight": path[0], "difference": float(f"{value:.2g}"),
             "u": float(f"{u[path]:.1g}")}, grave=False,
        )
        for path, value in values.items()
        if abs(value) > _DIFFER * max(u[path], 1e-9)
    ]  # fmt: skip
