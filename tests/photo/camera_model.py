"""A camera of the tests' own: rays from a pinhole through a lens, onto a card and parts above it.

Nothing here comes from ``core.photo`` but the places of the card's printed marks. A picture is made
by asking, for every pixel, what its ray meets first: the tops of the parts at their heights, or the
card.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image
from scipy.spatial.transform import Rotation

from bobweight.core.photo.card import DOT_MM, MARKS_MM, RING_INNER_MM, RING_OUTER_MM

_TILE = 64


@dataclass(frozen=True)
class Phone:
    """Pose and lens. ``k1``, ``k2``: radial terms on the plane one focal length away."""

    width: int
    height: int
    focal_px: float
    k1: float
    k2: float
    turn: np.ndarray  # world to camera, camera looking along +z, y down
    where: np.ndarray  # the camera's place in the world, mm
    middle: tuple[float, float]

    def rays(self, px: np.ndarray) -> np.ndarray:
        """Directions in the world of pixels, shape (n, 2) to (n, 3)."""
        bent = (np.asarray(px, float) - self.middle) / self.focal_px
        flat = bent.copy()
        for _ in range(6):  # each round gains more than a decimal
            r2 = np.sum(flat**2, axis=-1, keepdims=True)
            flat = bent / (1 + self.k1 * r2 + self.k2 * r2 * r2)
        return np.concatenate([flat, np.ones((*flat.shape[:-1], 1))], axis=-1) @ self.turn

    def sees(self, xyz: np.ndarray) -> np.ndarray:
        """Pixels of points of the world, shape (n, 3) to (n, 2)."""
        own = (np.asarray(xyz, float) - self.where) @ self.turn.T
        flat = own[:, :2] / own[:, 2:]
        r2 = np.sum(flat**2, axis=1, keepdims=True)
        return self.focal_px * flat * (1 + self.k1 * r2 + self.k2 * r2 * r2) + self.middle

    def on(self, px: np.ndarray, height_mm: float) -> np.ndarray:
        """Where rays of pixels cut the plane at a height, shape (n, 2)."""
        rays = self.rays(px)
        reach = (height_mm - self.where[2]) / rays[..., 2]
        return self.where[:2] + rays[..., :2] * reach[..., None]


def phone(rng: np.random.Generator, width: int = 4000, height: int = 3000) -> Phone:
    """A phone held over the card by hand: tilt to 15°, any turn, middle a little off."""
    focal35 = rng.uniform(23.0, 29.0)
    focal = focal35 / 43.267 * np.hypot(width, height)
    tilt = np.radians(rng.uniform(0, 15))
    way, spin = rng.uniform(0, 2 * np.pi, 2)
    axis = np.array([np.cos(way), np.sin(way), 0.0]) * tilt
    turn = (
        np.diag([1.0, -1.0, -1.0])
        @ Rotation.from_rotvec(axis).as_matrix()
        @ Rotation.from_euler("z", spin).as_matrix()
    )
    # far enough that the card fills the shorter side to 70–90 %
    distance = focal * 200.0 / (rng.uniform(0.62, 0.8) * min(width, height))
    aim = rng.uniform(-6, 6, 2)
    where = np.array([*aim, 0.0]) - turn.T @ np.array([0.0, 0.0, distance])
    half = np.hypot(width, height) / 2 / focal
    k1 = rng.normal(0, 0.01) / half**2
    k2 = rng.normal(0, 0.003) / half**4
    middle = ((width - 1) / 2 + rng.normal(0, 8), (height - 1) / 2 + rng.normal(0, 8))
    return Phone(width, height, focal, k1, k2, turn, where, middle)


@dataclass(frozen=True)
class Scanner:
    """A flatbed, its carriage along y: ``mm_per_px`` as it is, not as it says, across and along.

    Its lens, if it has one, sees things off the glass smaller across, by ``per_mm`` for each mm.
    """

    width: int
    height: int
    mm_per_px: tuple[float, float]
    per_mm: float

    where = np.array([0.0, 0.0, 1.0])

    @property
    def focal_px(self) -> float:
        """Pixels a mm, as :func:`render` asks for them."""
        return 1 / self.mm_per_px[0]

    @property
    def middle(self) -> tuple[float, float]:
        return (self.width - 1) / 2, (self.height - 1) / 2

    def sees(self, xyz: np.ndarray) -> np.ndarray:
        """Pixels of points at heights above the glass, shape (n, 3) to (n, 2)."""
        xyz = np.asarray(xyz, float)
        across = xyz[:, 0] / (1 + xyz[:, 2] * self.per_mm)
        return self.middle + np.column_stack([across, -xyz[:, 1]]) / self.mm_per_px

    def on(self, px: np.ndarray, height_mm: float) -> np.ndarray:
        """Where pixels lie on the plane at a height, shape (…, 2)."""
        flat = (np.asarray(px, float) - self.middle) * self.mm_per_px * [1, -1]
        return flat * [1 + height_mm * self.per_mm, 1.0]


def scanner(rng: np.random.Generator, dots_per_inch: float = 300.0) -> Scanner:
    """A scanner whose scale is a little off each way, with a lens or a row of sensors."""
    pitch = 25.4 / dots_per_inch * (1 + rng.normal(0, 0.0015, 2))
    side = round(110 / pitch[0])
    return Scanner(side, side, (pitch[0], pitch[1]), float(rng.choice([0.0, 1 / 350])))


@dataclass(frozen=True)
class Disc:
    """A round part seen from above: its middle and radius in mm, height of its top, grey 0–255."""

    x: float
    y: float
    radius: float
    height: float
    grey: float


def render(
    camera: Phone, discs: list[Disc], rng: np.random.Generator, *, noise: float = 4.0,
    jpeg_quality: int | None = 85, card: bool = True, light: tuple[float, float] = (0.15, 0.1),
) -> np.ndarray:  # fmt: skip
    """The grey picture as the phone would store it, uint8, shape (height, width).

    Each thing is looked for only in the rectangle of pixels that its own outline spans.
    """
    picture = np.full((camera.height, camera.width), 95.0, np.float32)
    pitch = camera.where[2] / camera.focal_px
    if card:
        for reach, grey in ((93.0, 225.0), (70.0, 100.0)):
            _paint(
                picture, camera, 0.0, (0.0, 0.0), 1.45 * reach, grey,
                lambda x, y, reach=reach: np.maximum(np.abs(x), np.abs(y)) - reach, pitch,
            )  # fmt: skip
        for mx, my in MARKS_MM:
            for radius, grey in ((RING_OUTER_MM, 30.0), (RING_INNER_MM, 225.0), (DOT_MM, 30.0)):
                _paint(
                    picture, camera, 0.0, (mx, my), radius, grey,
                    lambda x, y, mx=mx, my=my, radius=radius: np.hypot(x - mx, y - my) - radius,
                    pitch,
                )  # fmt: skip
    for disc in sorted(discs, key=lambda d: d.height):
        _paint(
            picture, camera, disc.height, (disc.x, disc.y), disc.radius, disc.grey,
            lambda x, y, disc=disc: np.hypot(x - disc.x, y - disc.y) - disc.radius, pitch,
        )  # fmt: skip
    shade_x = 1 + light[0] * (np.arange(camera.width, dtype=np.float32) / camera.width - 0.5)
    shade_y = 1 + light[1] * (np.arange(camera.height, dtype=np.float32) / camera.height - 0.5)
    picture *= shade_x
    picture *= shade_y[:, None]
    picture += noise * rng.standard_normal(picture.shape, np.float32)
    stored = np.clip(picture, 0, 255, out=picture).astype(np.uint8)
    if jpeg_quality is None:
        return stored
    file = io.BytesIO()
    Image.fromarray(stored).save(file, "JPEG", quality=jpeg_quality)
    return np.asarray(Image.open(file))


def _paint(picture, camera, height_mm, middle, reach_mm, grey, outside_mm, pitch) -> None:
    """Paint one flat thing: ``outside_mm(x, y)`` is how far a place lies outside its edge."""
    turn = np.linspace(0, 2 * np.pi, 64)
    round_it = np.column_stack(
        [middle[0] + reach_mm * np.cos(turn), middle[1] + reach_mm * np.sin(turn),
         np.full(64, height_mm)]
    )  # fmt: skip
    seen = camera.sees(round_it)
    left, top = np.maximum(np.floor(seen.min(0)).astype(int) - 2, 0)
    right, bottom = np.minimum(np.ceil(seen.max(0)).astype(int) + 3, (camera.width, camera.height))
    # Tiles whose middle lies well inside or outside need no look at their pixels.
    xs, ys = (np.arange(low, high, _TILE) for low, high in ((left, right), (top, bottom)))
    middles = np.stack(np.meshgrid(xs, ys), -1) + (_TILE - 1) / 2
    at = camera.on(middles, height_mm)
    depth = outside_mm(at[..., 0], at[..., 1])
    sure = 1.5 * pitch * (0.75 * _TILE + 1)
    for row, y in enumerate(ys):
        for column, x in enumerate(xs):
            if depth[row, column] > sure:
                continue
            part = picture[y : min(y + _TILE, bottom), x : min(x + _TILE, right)]
            if depth[row, column] < -sure:
                part[:] = grey
                continue
            high, wide = part.shape
            px = np.stack(np.meshgrid(np.arange(x, x + wide), np.arange(y, y + high)), -1)
            at = camera.on(px, height_mm)
            cover = np.clip(0.5 - outside_mm(at[..., 0], at[..., 1]) / pitch, 0, 1)
            part += cover.astype(np.float32) * (np.float32(grey) - part)
