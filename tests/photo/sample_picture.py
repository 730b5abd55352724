"""Draws ``sample_curves/open_unit.jpg``: the demonstration unit on its card, seen by a phone.

    python -m tests.photo.sample_picture

Drawn in the plane of each height with the camera of ``camera_model``, at twice its size; what is
drawn follows the sample docket ``weak_primary`` by the tests' own vectors.
"""

from __future__ import annotations

import cmath

import numpy as np
from PIL import Image, ImageDraw, ImageFilter

from bobweight.core.docket.mechanism import Mechanism
from bobweight.core.photo.card import DOT_MM, MARKS_MM, RING_INNER_MM, RING_OUTER_MM
from tests.photo.camera_model import Phone, phone
from tests.samples import FOLDER, sample

PLATE_MM, WEIGHT_MM = 4.0, 10.0
_TIMES = 2


class Drawing:
    """Shapes given as complex places in the base plate's frame, painted where the camera sees."""

    def __init__(self, camera: Phone) -> None:
        self.camera = camera
        size = (camera.width * _TIMES, camera.height * _TIMES)
        self.image = Image.new("RGB", size, (92, 84, 74))
        self.draw = ImageDraw.Draw(self.image)

    def seen(self, places: list[complex], height: float) -> list[tuple[float, float]]:
        mirrored = [z.conjugate() for z in places]  # the unit turns clockwise
        xyz = np.array([(z.real, z.imag, height) for z in mirrored])
        return [tuple((p + 0.5) * _TIMES) for p in self.camera.sees(xyz)]

    def shape(self, places: list[complex], height: float, fill: tuple, edge=(40, 40, 42)) -> None:
        points = self.seen(places, height)
        self.draw.polygon(points, fill=fill)
        self.draw.line([*points, points[0]], fill=edge, width=3 * _TIMES)

    def disc(self, at: complex, radius: float, height: float, fill: tuple, edge=None) -> None:
        turn = np.exp(2j * np.pi * np.arange(90) / 90)
        self.shape([at + radius * complex(t) for t in turn], height, fill, edge or fill)

    def wire(self, places: list[complex], height: float, fill: tuple, mm: float) -> None:
        pitch = self.camera.where[2] / self.camera.focal_px
        self.draw.line(self.seen(places, height), fill=fill, width=round(mm / pitch * _TIMES),
                       joint="curve")  # fmt: skip


def kidney(count: int = 40) -> list[complex]:
    """A weight's edge round its centre of gravity, x away from the pivot."""
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    radius = 9.5 + 1.8 * np.cos(2 * turn) - 0.9 * np.cos(3 * turn)
    points = [complex(r * np.exp(1j * a)) for r, a in zip(radius, turn, strict=True)]
    a = np.array(points)
    b = np.roll(a, -1)
    cross = (np.conj(a) * b).imag
    middle = ((a + b) * cross).sum() / (3 * cross.sum())
    return [p - complex(middle) for p in points]


def lies_ahead(mechanism: Mechanism) -> bool:
    """Whether a weight's own frame turns with advance: whether the pin in its slot moves on when
    the weight swings out."""

    def pin_at(swing: float) -> float:
        turn = np.radians(mechanism.weights.rest_angle_deg + mechanism.linkage.pin_angle_deg)
        arm = cmath.rect(mechanism.linkage.pin_radius_mm, turn - swing)
        return cmath.phase(mechanism.weights.pivot_radius_mm + arm)

    return pin_at(0.01) > pin_at(0.0)


def draw() -> Image.Image:
    rng = np.random.default_rng(12)
    camera = phone(rng, 3200, 2400)
    drawing = Drawing(camera)
    mechanism = sample("weak_primary").mechanism
    square = [1 + 1j, -1 + 1j, -1 - 1j, 1 - 1j]
    drawing.shape([93 * z for z in square], 0.0, (232, 230, 224), (150, 150, 146))
    drawing.shape([70 * z for z in square], 0.0, (104, 97, 88), (90, 84, 76))
    for x, y in MARKS_MM:
        at = complex(x, -y)  # mirrored once more when it is painted
        for radius, grey in ((RING_OUTER_MM, 24), (RING_INNER_MM, 230), (DOT_MM, 24)):
            drawing.disc(at, radius, 0.0, (grey, grey, grey))
    drawing.disc(0j, 41, 2.0, (116, 112, 106), (70, 68, 64))  # rim of the bowl
    drawing.disc(0j, 36, PLATE_MM - 1, (158, 156, 150), (84, 82, 78))
    weights, linkage = mechanism.weights, mechanism.linkage
    arm = cmath.rect(1, np.radians(weights.rest_angle_deg))
    ahead = lies_ahead(mechanism)
    pins: list[complex] = []
    for k in range(weights.count):
        turn = cmath.rect(1, 2 * np.pi * k / weights.count)

        def place(z: complex, turn: complex = turn) -> complex:
            return (z if ahead else z.conjugate()) * turn

        pivot = weights.pivot_radius_mm + 0j
        edge = [place(pivot + (weights.cg_mm + p) * arm) for p in kidney()]
        drawing.shape(edge, WEIGHT_MM, (134, 140, 148), (58, 60, 64))
        drawing.disc(place(pivot), 2.6, WEIGHT_MM, (66, 66, 68))
        drawing.disc(place(pivot), 1.7, WEIGHT_MM, (206, 204, 198))
        if linkage.pin_radius_mm is not None:
            turned = arm * cmath.rect(1, np.radians(linkage.pin_angle_deg))
            pins.append(place(pivot + linkage.pin_radius_mm * turned))
    bar = cmath.rect(1, 2.79)
    foot = [bar * z for z in (15 + 4j, -15 + 4j, -18, -15 - 4j, 15 - 4j, 18)]
    drawing.shape(foot, PLATE_MM + 3, (176, 172, 160), (64, 62, 58))
    drawing.disc(0j, 5.2, PLATE_MM + 5, (120, 118, 112), (50, 50, 50))
    drawing.disc(0j, 2.9, PLATE_MM, (40, 40, 42))
    for pin in pins:  # they stand through the slots of the cam foot
        drawing.disc(pin, 1.6, WEIGHT_MM, (48, 48, 50))
        drawing.disc(pin, 1.1, WEIGHT_MM, (214, 212, 206))
    for spring in mechanism.springs:
        post = cmath.rect(spring.post_radius_mm, np.radians(spring.post_angle_deg))
        peg = cmath.rect(spring.peg_radius_mm, np.radians(spring.peg_angle_deg))
        along = (peg - post) / abs(peg - post)
        across, length = 1j * along * 1.9, abs(peg - post)
        coils = 13
        inner = [
            post + along * (3 + (length - 6) * t / (2 * coils)) + across * (1 if t % 2 else -1)
            for t in range(2 * coils + 1)
        ]
        wire = 0.9 if spring.role == "primary" else 1.3
        drawing.wire([post, *inner, peg], PLATE_MM, (70, 70, 74), wire + 0.3)
        drawing.wire([post, *inner, peg], PLATE_MM, (190, 190, 194), 0.5 * wire)
        for end in (post, peg):
            drawing.disc(end, 1.9, PLATE_MM, (44, 44, 46))
            drawing.disc(end, 1.4, PLATE_MM, (222, 220, 214))
    small = drawing.image.resize((camera.width, camera.height), Image.Resampling.LANCZOS)
    soft = np.asarray(small.filter(ImageFilter.GaussianBlur(0.7)), np.float32)
    x = np.linspace(-0.5, 0.5, camera.width, dtype=np.float32)
    y = np.linspace(-0.5, 0.5, camera.height, dtype=np.float32)[:, None]
    lit = soft * (1 + 0.16 * x + 0.1 * y)[..., None]
    lit += rng.normal(0, 2.2, soft.shape[:2]).astype(np.float32)[..., None]
    return Image.fromarray(np.clip(lit, 0, 255).astype(np.uint8))


def main() -> None:
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    draw().save(FOLDER / "open_unit.jpg", quality=80, exif=exif)


if __name__ == "__main__":
    main()
