"""A picture read from disk with suspicion: size by its header first, then its pixels, upright."""

from __future__ import annotations

import os
import stat
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from bobweight.core.frozen import frozen
from bobweight.core.problems import BobweightError

if TYPE_CHECKING:
    from PIL.Image import Image

_MOST_MILLION = 64
MOST_PIXELS = _MOST_MILLION * 1_000_000
"""A4 at 700 dots per inch; more brings no more certainty and much memory."""
LEAST_SIDE_PX = 200
_STRIP_PX = 256
FORMATS = ("PNG", "JPEG", "TIFF", "WEBP", "BMP", "GIF")
_TAG_FOCAL_35 = 0xA405
_TAGS_OF_EXPOSURE = 0x8769
_ORIENTATION = 0x0112


@frozen(eq=False)
class PictureFile:
    """A picture as it is to be looked at, turned as the camera was held.

    Attributes
    ----------
    rgb : uint8 array, shape (height, width, 3)
    dots_per_inch : float or None
        As the file states it, both ways alike; cameras often state a number that means nothing.
    focal_35_mm : float or None
        "35 mm equivalent" focal length, as cameras state it.
    """

    rgb: NDArray[np.uint8]
    dots_per_inch: float | None
    focal_35_mm: float | None

    @property
    def width_px(self) -> int:
        """Width, upright."""
        return int(self.rgb.shape[1])

    @property
    def height_px(self) -> int:
        """Height, upright."""
        return int(self.rgb.shape[0])

    @property
    def is_scan(self) -> bool:
        """Whether the resolution is to be believed: no camera wrote the file, and it is stated."""
        return self.focal_35_mm is None and (self.dots_per_inch or 0.0) >= 100.0

    def grey(self) -> NDArray[np.uint8]:
        """Luminance, shape (height, width), by ITU-R BT.601."""
        weights = np.array([299, 587, 114], np.uint32)
        out = np.empty(self.rgb.shape[:2], np.uint8)
        for top in range(0, len(out), 512):  # no copy of the whole in a wider type
            part = self.rgb[top : top + 512].astype(np.uint32)
            out[top : top + 512] = (part @ weights + 500) // 1000
        return out


def read_picture(path: str | os.PathLike[str]) -> PictureFile:
    """The picture in a file.

    Raises
    ------
    BobweightError
        ``file-missing``, ``file-not-readable``, ``not-a-picture``, ``picture-damaged``,
        ``picture-too-large`` and ``picture-too-small`` with its size and the limit,
        ``picture-far-too-large`` where its size is not even looked at, ``picture-moves`` for an
        animation; each with the fact ``file``.
    """
    from PIL import Image, UnidentifiedImageError

    file = Path(path)
    _ordinary(file)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of sizes, judged here, and of odd tags
        try:
            with Image.open(file, formats=FORMATS) as opened:
                _accept(opened, file)
                return _decoded(opened)
        except Image.DecompressionBombError:
            raise BobweightError(
                "picture-far-too-large", file=file.name, most_million=_MOST_MILLION
            ) from None
        except UnidentifiedImageError:
            raise BobweightError("not-a-picture", file=file.name) from None
        except PermissionError as error:
            raise BobweightError(
                "file-not-readable", file=file.name, reason=error.strerror or str(error)
            ) from None
        except (OSError, ValueError, SyntaxError, EOFError, TypeError, IndexError, KeyError):
            # whatever a decoder says of a file that ends early or lies about itself
            raise BobweightError("picture-damaged", file=file.name) from None


def _ordinary(file: Path) -> None:
    """Refuse what is no ordinary file: a device or a pipe would be read for ever."""
    try:
        kind = file.stat().st_mode
    except OSError:
        raise BobweightError("file-missing", file=file.name) from None
    if not stat.S_ISREG(kind):
        raise BobweightError("not-a-picture", file=file.name)


def _accept(opened: Image, file: Path) -> None:
    width, height = opened.size
    facts = {"file": file.name, "width": width, "height": height}
    if width * height > MOST_PIXELS:
        raise BobweightError("picture-too-large", most_million=_MOST_MILLION, **facts)
    if min(width, height) < LEAST_SIDE_PX:
        raise BobweightError("picture-too-small", least=LEAST_SIDE_PX, **facts)
    if opened.format != "MPO" and getattr(opened, "is_animated", False):
        raise BobweightError("picture-moves", file=file.name)


def _decoded(opened: Image) -> PictureFile:
    exif = opened.getexif()
    focal = _number(exif.get_ifd(_TAGS_OF_EXPOSURE).get(_TAG_FOCAL_35))
    dpi = opened.info.get("dpi", (None, None))
    across, down = (_number(d) for d in (dpi[0], dpi[-1]))
    even = across is not None and down is not None and abs(across - down) < 0.01 * across
    rgb = np.empty((opened.height, opened.width, 3), np.uint8)
    opened.load()
    for top in range(0, opened.height, _STRIP_PX):  # a large picture is held twice at no time
        strip = opened.crop((0, top, opened.width, min(top + _STRIP_PX, opened.height)))
        rgb[top : top + _STRIP_PX] = np.asarray(_plain(strip))
    opened.close()
    return PictureFile(
        _upright(rgb, exif.get(_ORIENTATION, 1)),
        round(across, 2) if even and across is not None else None,  # PNG keeps dots per metre
        focal if focal is not None and 5 <= focal <= 1000 else None,
    )  # fmt: skip


def _plain(strip: Image) -> Image:
    """A strip of a picture in eight bits of red, green and blue, on white where it is clear."""
    from PIL import Image

    if strip.mode.startswith("I"):  # 16-bit grey has no straight way to eight bits of colour
        strip = strip.point(lambda v: v / 256).convert("L")
    if strip.mode in ("RGBA", "LA", "PA") or "transparency" in strip.info:
        clear = strip.convert("RGBA")
        strip = Image.alpha_composite(Image.new("RGBA", clear.size, "white"), clear)
    return strip if strip.mode == "RGB" else strip.convert("RGB")


def _upright(rgb: NDArray[np.uint8], orientation: object) -> NDArray[np.uint8]:
    """Rows and columns as the camera was held (Exif 2.32, tag Orientation)."""
    if orientation in (5, 6, 7, 8):
        rgb = rgb.swapaxes(0, 1)
    if orientation in (3, 4, 7, 8):
        rgb = rgb[::-1]
    if orientation in (2, 3, 6, 7):
        rgb = rgb[:, ::-1]
    return np.ascontiguousarray(rgb)


def _number(value: Any) -> float | None:
    try:
        found = float(value)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return found if np.isfinite(found) and found > 0 else None
