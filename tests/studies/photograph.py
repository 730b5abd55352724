"""Mechanisms measured off rendered photographs: errors, stated intervals, the card found by itself.

Stated before it is run: 200 random mechanisms, each photographed by a phone of 12 million pixels
held by hand (tilt to 15°, lens distortion, noise, JPEG), parts at two heights known to 0.3 mm;
round parts out of true by 0.02 mm; clicked to 1 pixel, the middle of round parts found by program
where the hand would accept it (within 3 pixels of the click), outlines clicked to half a pixel.
Limits: 95 % of lengths within 0.15 mm and of angles within 0.5°; 95 % intervals hold 95 ± 3 %; card
found in at least 90 %.

    python -m tests.studies.photograph [mechanisms] [first seed]
"""

from __future__ import annotations

import math
import sys

import numpy as np

from bobweight.core.docket.pictures import MarkSeen, MeasuredPicture, PicturePoint
from bobweight.core.photo.card import MARKS_MM
from bobweight.core.photo.find_card import find_card
from bobweight.core.photo.measure import measure
from bobweight.core.photo.snap import snap
from bobweight.core.problems import BobweightError
from bobweight.core.record import put
from tests.photo.camera_model import Disc, phone, render
from tests.photo.clicked import HEIGHTS_MM, ROUND, clicked, random_truth
from tests.studies.results import section, table

OUT_OF_TRUE_MM = 0.02
CLICK_PX, ACCEPTED_PX = 1.0, 3.0


_NOTE = "Limits and sizes as stated in the study's docstring before it was run."


def photographed(seed: int) -> tuple[object, MeasuredPicture | None]:
    """The truth of a seed and its picture as measured; None where the card was not found."""
    rng = np.random.default_rng(seed)
    truth, camera = random_truth(rng), phone(rng)
    perfect = clicked(truth, camera, rng, hand=1e-9)
    parts = [Disc(0, 0, 45, 0, 130)]
    for pick in perfect.picks:
        if pick.part in ROUND:
            height = HEIGHTS_MM[pick.level - 1]
            at = camera.on(np.array([(p.x_px, p.y_px) for p in pick.points]), height)[0]
            x, y = at + rng.normal(0, OUT_OF_TRUE_MM, 2)
            grey = float(rng.choice([50, 70, 205, 225]))
            parts.append(Disc(x, y, rng.uniform(1.2, 2.5), height, grey))
    picture = render(camera, parts, rng)
    try:
        card = find_card(picture)
    except BobweightError:
        return truth, None
    true = camera.sees(np.column_stack([MARKS_MM[card.index], np.zeros(len(card.index))]))
    if np.max(np.hypot(*(card.pixels - true).T)) > 3:
        return truth, None
    marks = tuple(
        MarkSeen(mark=int(k) + 1, x_px=float(x), y_px=float(y))
        for k, (x, y) in zip(card.index, card.pixels, strict=True)
    )
    picks = []
    for pick in perfect.picks:
        points = tuple(_clicked(p, pick.part in ROUND, picture, rng) for p in pick.points)
        picks.append(put(pick, ("points",), points))
    return truth, put(put(perfect, ("marks",), marks), ("picks",), tuple(picks))


def _clicked(true: PicturePoint, is_round: bool, picture, rng) -> PicturePoint:
    if not is_round:
        x, y = np.array([true.x_px, true.y_px]) + rng.normal(0, 0.5, 2)
        return PicturePoint(x_px=float(x), y_px=float(y))
    x, y = np.array([true.x_px, true.y_px]) + rng.normal(0, CLICK_PX, 2)
    found = snap(picture, x, y)
    if found is not None and math.hypot(found.x_px - x, found.y_px - y) < ACCEPTED_PX:
        return PicturePoint(x_px=found.x_px, y_px=found.y_px, snapped=True)
    x, y = np.array([true.x_px, true.y_px]) + rng.normal(0, 0.5, 2)  # placed with more care
    return PicturePoint(x_px=float(x), y_px=float(y))


def main(count: int = 200, first: int = 4000) -> None:
    lengths, angles, ratios, found = [], [], [], 0
    for seed in range(first, first + count):
        truth, picture = photographed(seed)
        if picture is None:
            continue
        found += 1
        off = measure(truth.docket, picture)
        for path, true in truth.values.items():
            error = off.values[path] - true
            if path[-1].endswith("_deg"):
                error = math.remainder(error, 360.0)
                angles.append(error)
            else:
                lengths.append(error)
            ratios.append(error / off.u[path])
    inside = np.abs(ratios) < 1.96
    spread = 100 * math.sqrt(0.95 * 0.05 / len(ratios))
    rows = [
        ("card found by itself", f"{found} of {count}", "≥ 90 %"),
        ("lengths, 95 % within", f"{np.percentile(np.abs(lengths), 95):.3f} mm", "0.15 mm"),
        ("angles, 95 % within", f"{np.percentile(np.abs(angles), 95):.2f}°", "0.5°"),
        (
            "stated 95 % intervals hold",
            f"{100 * np.mean(inside):.1f} % of {len(ratios)} (± {spread:.1f} %)",
            "95 ± 3 %",
        ),
    ]
    seeds = f"{first} to {first + count - 1}"
    with section("photograph", "Mechanisms measured off photographs", seeds, _NOTE) as out:
        out(table(("what", "measured", "limit"), rows))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
