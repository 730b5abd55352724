"""Good pictures and bad ones, made here with Pillow."""

from __future__ import annotations

import os
import struct
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from bobweight.core.photo.picture_file import read_picture
from bobweight.core.problems import BobweightError


def picture(width: int = 320, height: int = 240) -> Image.Image:
    rng = np.random.default_rng(1)
    return Image.fromarray(rng.integers(0, 255, (height, width, 3), np.uint8))


def refused(path: Path) -> str:
    with pytest.raises(BobweightError) as told:
        read_picture(path)
    return told.value.problem.code


def test_a_scan_states_its_resolution(tmp_path: Path):
    path = tmp_path / "scan.png"
    picture().save(path, dpi=(300, 300))
    found = read_picture(path)
    assert (found.width_px, found.height_px) == (320, 240)
    assert found.dots_per_inch == pytest.approx(300, abs=0.01)
    assert found.is_scan
    assert found.grey().shape == (240, 320)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_picture_stands_as_the_camera_was_held(tmp_path: Path, orientation: int):
    path = tmp_path / "phone.jpg"
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif.get_ifd(0x8769)[0xA405] = 26
    picture().save(path, exif=exif)
    found = read_picture(path)
    assert (found.width_px, found.height_px) == ((320, 240) if orientation < 5 else (240, 320))
    assert found.focal_35_mm == 26
    assert not found.is_scan


def test_other_kinds_of_colour_are_read(tmp_path: Path):
    for mode in ("CMYK", "L"):
        path = tmp_path / f"{mode}.jpg"
        picture().convert(mode).save(path)
        assert read_picture(path).rgb.shape == (240, 320, 3)
    for mode in ("RGBA", "P", "1", "LA"):
        path = tmp_path / f"{mode}.png"
        picture().convert(mode).save(path)
        assert read_picture(path).rgb.shape == (240, 320, 3)
    deep = Image.fromarray(np.full((240, 320), 40_000, np.uint16))
    deep.save(tmp_path / "deep.png")
    assert read_picture(tmp_path / "deep.png").grey()[0, 0] == 40_000 // 256


def test_bad_pictures_are_named(tmp_path: Path):
    assert refused(tmp_path / "none.png") == "file-missing"
    small = tmp_path / "small.png"
    picture(20, 20).save(small)
    assert refused(small) == "picture-too-small"
    text = tmp_path / "text.png"
    text.write_text("not a picture")
    assert refused(text) == "not-a-picture"
    whole = tmp_path / "whole.jpg"
    picture().save(whole)
    (tmp_path / "half.jpg").write_bytes(whole.read_bytes()[: whole.stat().st_size // 2])
    assert refused(tmp_path / "half.jpg") == "picture-damaged"
    moving = tmp_path / "moving.png"
    picture().save(moving, save_all=True, append_images=[picture().rotate(90)])
    assert refused(moving) == "picture-moves"
    folder = tmp_path / "folder.png"
    folder.mkdir()
    assert refused(folder) == "not-a-picture"


@pytest.mark.parametrize("side", [10_000, 100_000])
def test_a_bomb_is_refused_by_its_header(tmp_path: Path, side: int):
    """100 million pixels and 10,000 million, a few bytes on disk."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data
            + struct.pack(">I", zlib.crc32(kind + data))
        )  # fmt: skip

    path = tmp_path / "bomb.png"
    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )  # fmt: skip
    start = time.perf_counter()
    assert refused(path) == "picture-too-large"
    assert time.perf_counter() - start < 1


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe.png")
    assert refused(tmp_path / "pipe.png") == "not-a-picture"
