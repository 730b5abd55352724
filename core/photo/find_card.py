"""Finds the measuring card in a picture by itself.

A mark is a dark dot inside a light gap inside a dark ring, three regions with one middle and known
shares of area; perspective keeps both nearly true. Which mark is which follows from their order
round the card, which no picture reverses, and from how well the card then fits.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, islice
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from bobweight.core.arrays import Floats
from bobweight.core.frozen import frozen
from bobweight.core.photo.camera import homography
from bobweight.core.photo.card import DOT_MM, MARKS_MM, RING_INNER_MM, RING_OUTER_MM
from bobweight.core.problems import BobweightError

_LOOK_PX = 2000
"""The longer side of the picture in which marks are looked for; centres are then found in full."""
_LEAST_MARK_PX = 14.0
_MOST_CANDIDATES = 24
_LEAST_MARKS = 5
_MISS = 0.012
"""How far a mark may lie from where the card would have it, as a share of the card's side."""


@frozen(eq=False)
class CardFound:
    """Marks found: ``index`` into :data:`core.photo.card.MARKS_MM`, shape (n,), and where they
    stand in the picture, ``pixels``, shape (n, 2)."""

    index: NDArray[np.int_]
    pixels: Floats


@frozen
class _Candidate:
    x: float
    y: float
    size: float


_Match = tuple[int, float, list[int], list[int]]
"""How many marks agree, how far they miss, the marks, and their candidates."""


def find_card(grey: NDArray[Any]) -> CardFound:
    """The card's marks in a grey picture, shape (height, width), any numeric type.

    Raises
    ------
    BobweightError
        ``picture-too-small``; ``no-card`` with how many marks were seen.
    """
    height, width = grey.shape
    if min(height, width) < 200:
        raise BobweightError("picture-too-small", width=width, height=height, least=200)
    step = max(1, round(max(height, width) / _LOOK_PX))
    small = _binned(grey, step)
    seen = _candidates(small)
    card = _card(seen)
    if card is None:
        raise BobweightError("no-card", seen=len(seen))
    index, chosen = card
    refined = [_refined(grey, seen[k], step) for k in chosen]
    return CardFound(np.array(index), np.array(refined))


def _binned(grey: Floats, step: int) -> NDArray[np.float32]:
    """Means of squares of step × step pixels."""
    if step == 1:
        return np.asarray(grey, np.float32)
    height, width = (side // step * step for side in grey.shape)
    cut = grey[:height, :width].reshape(height // step, step, width // step, step)
    found: NDArray[np.float32] = cut.mean(axis=(1, 3), dtype=np.float32)
    return found


def _candidates(grey: NDArray[np.float32]) -> list[_Candidate]:
    """Everything in the picture that looks like a mark, the likeliest first."""
    smooth = ndimage.gaussian_filter(grey, 0.8)
    found: list[tuple[float, _Candidate]] = []
    for share in (10, 30):  # the neighbourhood against which a pixel is dark
        around = ndimage.uniform_filter(smooth, max(15, max(grey.shape) // share))
        dark = smooth < around - 0.04 * float(np.ptp(smooth))
        found += _of_regions(dark)
    found.sort(key=lambda pair: pair[0])
    kept: list[_Candidate] = []
    for _, candidate in found:
        if all(
            np.hypot(candidate.x - k.x, candidate.y - k.y) > 0.5 * (candidate.size + k.size)
            for k in kept
        ):
            kept.append(candidate)
    return kept[:_MOST_CANDIDATES]


def _of_regions(dark: NDArray[np.bool_]) -> list[tuple[float, _Candidate]]:
    labels, count = ndimage.label(dark, np.ones((3, 3)))
    if count == 0:
        return []
    area = np.bincount(labels.ravel())
    boxes = ndimage.find_objects(labels)
    dot_share = DOT_MM**2 / (RING_OUTER_MM**2 - RING_INNER_MM**2)
    found = []
    for number, box in enumerate(boxes, start=1):
        rows, columns = box
        high, wide = rows.stop - rows.start, columns.stop - columns.start
        if min(high, wide) < _LEAST_MARK_PX or max(high, wide) > 3 * min(high, wide):
            continue
        if max(high, wide) > 0.2 * max(dark.shape):
            continue
        inside = labels[rows, columns]
        ring = inside == number
        # dots: another dark region wholly inside the ring's hole, about its middle
        cy, cx = (high - 1) / 2, (wide - 1) / 2
        middle = inside[round(cy), round(cx)]
        if middle in (0, number):
            continue
        dot = inside == middle
        if area[middle] != np.count_nonzero(dot):
            continue
        ratio = area[middle] / area[number] / dot_share
        if not 0.55 < ratio < 1.8:
            continue
        filled = ndimage.binary_fill_holes(ring)
        fill = np.count_nonzero(filled) / (np.pi / 4 * high * wide)
        hole = area[number] / np.count_nonzero(filled)
        true_hole = 1 - (RING_INNER_MM / RING_OUTER_MM) ** 2
        if not (0.7 < fill < 1.15 and 0.6 < hole / true_hole < 1.5):
            continue
        dy, dx = ndimage.center_of_mass(dot)
        oy, ox = ndimage.center_of_mass(filled)
        off = np.hypot(dy - oy, dx - ox) / max(high, wide)
        if off > 0.06:
            continue
        score = abs(np.log(ratio)) + 8 * off + abs(np.log(hole / true_hole))
        x, y = columns.start + ox, rows.start + oy
        found.append((float(score), _Candidate(float(x), float(y), float(max(high, wide)))))
    return found


def _card(seen: list[_Candidate]) -> tuple[list[int], list[int]] | None:
    """Marks and candidates that belong together: the largest set that one plane explains."""
    places = np.array([(c.x, c.y) for c in seen]).reshape(-1, 2)
    sizes = np.array([c.size for c in seen])
    corners = (0, 2, 4, 6)
    best: _Match | None = None
    for hull in islice(_hulls(places, sizes), 4000):
        best = _better(best, corners, hull, places, _LEAST_MARKS)
        if best is not None and best[0] == len(MARKS_MM):
            break
    if best is None:  # a corner of the card is hidden or outside the picture
        for hidden in corners:
            shown = [k for k in range(8) if k != hidden]
            spread = tuple(shown[k] for k in corners)
            for hull in _hulls(places[:12], sizes[:12]):
                best = _better(best, spread, hull, places, _LEAST_MARKS + 1)
    return None if best is None else (best[2], best[3])


def _hulls(places: Floats, sizes: Floats) -> Iterator[list[int]]:
    """Every four candidates of like size that stand as corners do, clockwise in the picture."""
    for four in combinations(range(len(places)), 4):
        size = sizes[list(four)]
        if size.max() > 1.8 * size.min():
            continue
        order = _round_order(places[list(four)])
        if order is not None:
            yield [four[k] for k in order]


def _better(
    best: _Match | None, names: tuple[int, ...], hull: list[int], places: Floats, least: int
) -> _Match | None:
    """The best match so far, or one that these four corners give, whichever turn they stand at."""
    for turn in range(4):
        marks, used, miss = _agreeing(names, hull[turn:] + hull[:turn], places)
        if len(marks) >= least and (best is None or (len(marks), -miss) > (best[0], -best[1])):
            best = len(marks), miss, marks, used
    return best


def _round_order(four: Floats) -> list[int] | None:
    """The order of four points clockwise in a picture, or None where one lies inside the rest."""
    middle = four.mean(axis=0)
    order = np.argsort(np.arctan2(*(four - middle).T[::-1]))  # y down: rising angle is clockwise
    ring = four[order]
    edge = np.roll(ring, -1, axis=0) - ring
    after = np.roll(edge, -1, axis=0)
    turns = edge[:, 0] * after[:, 1] - edge[:, 1] * after[:, 0]
    if np.any(turns <= 0.05 * np.hypot(*edge.T) * np.hypot(*after.T)):
        return None
    return [int(k) for k in order]


def _agreeing(
    names: tuple[int, ...], chosen: list[int], places: Floats
) -> tuple[list[int], list[int], float]:
    """Marks that lie where the card laid on four of them would have them."""
    with np.errstate(all="ignore"):
        plane = homography(MARKS_MM[list(names)], places[chosen])
        mapped = np.column_stack([MARKS_MM, np.ones(len(MARKS_MM))]) @ plane.T
        expected = mapped[:, :2] / mapped[:, 2:]
    if not np.all(np.isfinite(expected)):
        return [], [], np.inf
    side = float(np.max(np.ptp(expected, axis=0)))
    distance = np.hypot(
        expected[:, None, 0] - places[None, :, 0], expected[:, None, 1] - places[None, :, 1]
    )
    nearest = np.argmin(distance, axis=1)
    miss = distance[np.arange(len(expected)), nearest]
    good = miss < max(_MISS * side, 2.5)
    marks = [int(k) for k in np.flatnonzero(good)]
    used = [int(nearest[k]) for k in marks]
    if len(set(used)) < len(used):
        return [], [], np.inf
    return marks, used, float(np.sum(miss[good])) / max(side, 1.0)


def _refined(grey: Floats, candidate: _Candidate, step: int) -> tuple[float, float]:
    """The dot's middle in the full picture: the centre of what is darker than the gap round it."""
    x, y = (candidate.x + 0.5) * step - 0.5, (candidate.y + 0.5) * step - 0.5
    ring_px = candidate.size * step / 2
    for _ in range(3):
        reach = ring_px * 0.5 * (DOT_MM + RING_INNER_MM) / RING_OUTER_MM
        left, top = max(0, int(x - reach - 1)), max(0, int(y - reach - 1))
        patch = np.asarray(grey[top : int(y + reach + 2), left : int(x + reach + 2)], np.float64)
        rows, columns = np.indices(patch.shape)
        within = np.hypot(columns + left - x, rows + top - y) < reach
        if np.count_nonzero(within) < 9:
            break
        light = np.percentile(patch[within], 90)
        dark = np.percentile(patch[within], 10)
        weight = np.clip((light - patch) / max(light - dark, 1e-9) - 0.15, 0.0, 1.0) * within
        total = weight.sum()
        if total <= 0:
            break
        x = float((weight * columns).sum() / total) + left
        y = float((weight * rows).sum() / total) + top
    return x, y
